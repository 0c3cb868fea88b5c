"""What is shown of the log of one appliance. All logs are made up here."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog, mean_copies_used, posterior
from continuity.cover.estimate import MOST_CHANCES, estimate, extra_copies, extra_copies_for, in_words
from continuity.cover.plan import Plan, PlannedDay
from tests.cover.test_calculation import FIRST


def test_an_estimate_says_what_it_rests_on() -> None:
    found = estimate(Beta(9, 1), UsageLog(good=34, spoiled=3, lost=2))
    assert found.rests_on == "34 good, 3 spoiled and 2 lost on set"
    assert found.belief == Beta(43, 6)
    assert found.success_rate == pytest.approx(43 / 49)
    assert found.spoiled_rate == pytest.approx(4 / 49)
    assert found.lost_rate == pytest.approx(2 / 45)
    assert found.success_rate == pytest.approx((1 - found.spoiled_rate) * (1 - found.lost_rate))
    assert in_words(UsageLog(0, 0)) == "nothing logged yet"


def test_a_lost_copy_asks_for_another_as_a_spoiled_one_does() -> None:
    def cover(log: UsageLog) -> float:
        days = (PlannedDay(FIRST, 4),)
        return work_out_cover(Plan(0.98, Beta(9, 1), log, 6, (), days)).p_covered

    assert cover(UsageLog(30, 3, 2)) == cover(UsageLog(30, 5))
    assert cover(UsageLog(30, 3, 2)) < cover(UsageLog(30, 3))


def test_extra_copies_are_parted_into_spoiled_and_lost() -> None:
    prior, log = Beta(9, 1), UsageLog(30, 3, 2)
    extra = extra_copies(prior, log, 12)
    assert extra is not None
    mean = mean_copies_used(posterior(prior, log), 12)
    assert mean is not None
    assert 12 + sum(extra) == pytest.approx(mean)
    assert extra_copies(prior, log, 0) == (0, 0)
    assert extra_copies(Beta(0.5, 1), UsageLog(0, 0), 1) is None


def test_the_spares_a_target_asks_for_are_the_fewest_that_reach_it() -> None:
    # The chances are checked against scipy.stats.betanbinom, which counts copies that do not last.
    found = estimate(Beta(9, 1), UsageLog(30, 3, 2))
    extra = extra_copies_for(found, 12, 0.98)
    theirs = stats.betanbinom(12, 39, 6)
    assert extra.for_target is not None
    assert extra.for_target == theirs.ppf(0.98)
    assert extra.chances == pytest.approx(theirs.cdf(np.arange(extra.for_target + 1)))
    assert extra.chances[-1] >= 0.98 > extra.chances[-2]
    assert (extra.needed, extra.spoiled, extra.lost) == (12, *(extra_copies(Beta(9, 1), found.log, 12) or ()))


def test_spares_where_nothing_is_needed_and_where_no_number_is_enough() -> None:
    nothing = extra_copies_for(estimate(Beta(9, 1), UsageLog(0, 0)), 0, 0.98)
    assert (nothing.for_target, nothing.chances) == (0, (1.0,))
    hopeless = extra_copies_for(estimate(Beta(0.01, 5), UsageLog(0, 9)), 3, 0.98)
    assert (hopeless.spoiled, hopeless.lost, hopeless.for_target) == (None, None, None)
    assert len(hopeless.chances) == MOST_CHANCES + 1


def test_two_rates_learnt_apart_come_to_the_same() -> None:
    # Two seasons' worth of draws: a copy goes on with one unknown rate and, once on, lasts with another. The
    # number of copies used agrees with the one belief of "lasts" within four standard errors.
    prior, log, wanted, seasons = Beta(9, 1), UsageLog(30, 3, 2), 10, 200_000
    random = np.random.default_rng(7)
    goes_on = random.beta(prior.good + log.good + log.lost, prior.spoiled + log.spoiled, seasons)
    is_lost = random.beta(log.lost, prior.good + log.good, seasons)
    used = wanted + random.negative_binomial(wanted, goes_on * (1 - is_lost))
    mean = mean_copies_used(posterior(prior, log), wanted)
    assert mean is not None
    assert abs(used.mean() - mean) < 4 * used.std() / seasons**0.5


def test_a_count_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="lost must be 0 or more"):
        UsageLog(good=1, spoiled=1, lost=-1)
    with pytest.raises(ValueError, match="good_wanted"):
        extra_copies(Beta(9, 1), UsageLog(0, 0), -1)
