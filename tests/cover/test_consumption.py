"""How many copies are used up. The tables of values are cases made up here, worked out with SciPy and for the
first masses by quadrature, unless a line names another source."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from continuity.cover.consumption import (
    DEFAULT_PRIOR,
    MOST_SPOILED,
    Beta,
    UsageLog,
    cumulative_of_spoiled,
    mass_of_spoiled,
    mean_copies_used,
    posterior,
    quantile_of_copies_used,
    quantiles_of_copies_used,
)
from tests.cover import exact

ALL_BUT_SURE = 1e9
"""Logged copies after which the success rate is as good as known: the negative-binomial case."""


def known_rate(rate: float) -> Beta:
    return Beta(good=rate * ALL_BUT_SURE, spoiled=(1 - rate) * ALL_BUT_SURE)


def test_with_a_known_rate_the_third_good_copy_comes_as_in_the_oil_well_example() -> None:
    # Penn State STAT 414, lesson 11, the oil-well example: 0.128 and 0.049. Inputs from memory, reproduced.
    assert mass_of_spoiled(known_rate(0.2), 1, 2)[2] == pytest.approx(0.128, abs=1e-7)
    assert mass_of_spoiled(known_rate(0.2), 3, 4)[4] == pytest.approx(0.049152, abs=1e-7)
    # Same example: the mean is 15 wells.
    mean = mean_copies_used(known_rate(0.2), 3)
    assert mean is not None
    assert mean == pytest.approx(15, abs=1e-6)


@pytest.mark.parametrize(
    ("good_wanted", "rate", "mean", "for_90", "for_95"),
    [(3, 0.8, 3.75, 5, 6), (5, 0.85, 5.882353, 7, 8), (4, 0.7, 5.714286, 8, 9)],
)
def test_with_a_known_rate_mean_and_quantiles_count_the_good_copies_too(
    good_wanted: int, rate: float, mean: float, for_90: int, for_95: int
) -> None:
    # Made up here, worked out with scipy.stats.nbinom.
    belief = known_rate(rate)
    assert mean_copies_used(belief, good_wanted) == pytest.approx(mean, abs=1e-6)
    assert quantile_of_copies_used(belief, good_wanted, 0.90) == for_90
    assert quantile_of_copies_used(belief, good_wanted, 0.95) == for_95


def test_with_a_known_rate_three_good_copies_are_had_from_three_to_six() -> None:
    # Made up here, worked out with scipy.stats.nbinom.
    chances = cumulative_of_spoiled(known_rate(0.8), 3, 3)
    assert chances == pytest.approx([0.5120, 0.8192, 0.94208, 0.98304], abs=1e-7)


@pytest.mark.parametrize(
    ("good_wanted", "a", "b", "masses", "mean_spoiled"),
    [
        (3, 2, 1, [2 / 5, 1 / 5, 4 / 35, 1 / 14], 3.0),
        (5, 18.5, 3.5, [0.453217, 0.293752, 0.141630, 0.062675], 1.0),
        (5, 3, 2, [1 / 6, 1 / 6], 5.0),
    ],
)
def test_beta_negative_binomial_masses_and_mean(
    good_wanted: int, a: float, b: float, masses: list[float], mean_spoiled: float
) -> None:
    # Made up here; worked out with scipy.stats.betanbinom, the first masses by quadrature too.
    belief = Beta(a, b)
    assert mass_of_spoiled(belief, good_wanted, len(masses) - 1) == pytest.approx(masses, abs=5e-7)
    assert mean_copies_used(belief, good_wanted) == pytest.approx(good_wanted + mean_spoiled)


def test_beta_negative_binomial_cumulative_and_quantiles() -> None:
    # Made up here; worked out with scipy.stats.betanbinom: 7 and 11 spoiled are 10 and 14 copies.
    assert cumulative_of_spoiled(Beta(2, 1), 3, 3)[3] == pytest.approx(0.785714, abs=5e-7)
    assert cumulative_of_spoiled(Beta(18.5, 3.5), 5, 3)[3] == pytest.approx(0.951274, abs=5e-7)
    assert quantile_of_copies_used(Beta(2, 1), 3, 0.90) == 10
    assert quantile_of_copies_used(Beta(2, 1), 3, 0.95) == 14


@pytest.mark.parametrize(
    ("copies", "a", "b", "good", "mass"),
    [
        (10, 1, 1, 0, 1 / 11),  # a flat prior makes every count equally likely: an identity
        (10, 1, 1, 7, 1 / 11),
        (10, 1, 1, 10, 1 / 11),
        (6, 2, 1, 0, 1 / 28),
        (6, 2, 1, 3, 1 / 7),
        (6, 2, 1, 5, 3 / 14),
        (6, 2, 1, 6, 1 / 4),
        (10, 18.5, 3.5, 10, 0.237824),
    ],
)
def test_the_good_copies_among_so_many_are_beta_binomial(
    copies: int, a: float, b: float, good: int, mass: float
) -> None:
    # Made up here; worked out with scipy.stats.betabinom. At least g of n copies are good exactly when g good
    # ones are had from at most n copies.
    def at_least(wanted: int) -> float:
        if wanted > copies:
            return 0.0
        return float(cumulative_of_spoiled(Beta(a, b), wanted, copies - wanted)[-1])

    assert at_least(good) - at_least(good + 1) == pytest.approx(mass, abs=5e-7)


@pytest.mark.parametrize(
    ("good_wanted", "a", "b"),
    [(1, 9, 1), (3, 2, 1), (5, 18.5, 3.5), (40, 49, 4), (7, 0.7, 0.4), (120, 9, 1), (2, 300, 900)],
)
def test_mass_and_cumulative_agree_with_scipy(good_wanted: int, a: float, b: float) -> None:
    spoiled = np.arange(301)
    theirs = stats.betanbinom(good_wanted, a, b)
    np.testing.assert_allclose(mass_of_spoiled(Beta(a, b), good_wanted, 300), theirs.pmf(spoiled), rtol=1e-10)
    np.testing.assert_allclose(
        cumulative_of_spoiled(Beta(a, b), good_wanted, 300), theirs.cdf(spoiled), rtol=1e-10
    )


@settings(max_examples=60)
@given(st.integers(1, 40), st.integers(1, 40), st.integers(1, 30), st.integers(0, 60))
def test_mass_is_exact_to_twelve_digits(a: int, b: int, good_wanted: int, spoiled: int) -> None:
    mass = mass_of_spoiled(Beta(a, b), good_wanted, spoiled)[spoiled]
    assert mass == pytest.approx(float(exact.mass_of_spoiled(a, b, good_wanted, spoiled)), rel=1e-12)


@settings(max_examples=60)
@given(st.integers(1, 20), st.integers(1, 20), st.integers(1, 12), st.sampled_from((1, 5, 25, 50, 90, 95)))
def test_a_quantile_is_the_first_count_that_reaches_the_level(
    a: int, b: int, good_wanted: int, percent: int
) -> None:
    found = quantile_of_copies_used(Beta(a, b), good_wanted, percent / 100)
    level, reached, spoiled = Fraction(percent, 100), Fraction(0), -1
    while reached < level and spoiled < 300:
        spoiled += 1
        reached += exact.mass_of_spoiled(a, b, good_wanted, spoiled)
    if reached >= level:
        assert found == good_wanted + spoiled
    else:
        assert found is not None
        assert found > good_wanted + spoiled


def test_a_level_reached_exactly_counts_as_reached() -> None:
    # Made up here: with a flat prior one good copy is had from at most n with probability n / (n + 1).
    flat = Beta(1, 1)
    assert [quantile_of_copies_used(flat, 1, level) for level in (0.5, 0.75, 0.9, 0.95, 0.98, 0.99)] == [
        1, 3, 9, 19, 49, 99,
    ]  # fmt: skip


@pytest.mark.parametrize("a", [1.0, 0.5, 0.01])
def test_an_infinite_mean_is_none_never_a_number(a: float) -> None:
    assert mean_copies_used(Beta(a, 1), 1) is None
    assert mean_copies_used(Beta(a, 1), 0) == 0
    just_above = mean_copies_used(Beta(1.001, 1), 1)
    assert just_above is not None
    assert math.isfinite(just_above)


def test_a_quantile_out_of_all_reason_is_none_while_a_lower_one_is_found() -> None:
    # Made up here: with a success rate that is nearly surely close to 0 the 90 % quantile is out of sight.
    low, high = quantiles_of_copies_used(Beta(0.05, 1), [1], [0.01, 0.9])[0]
    assert low == 1
    assert high is None


def test_a_quantile_far_out_is_still_found() -> None:
    # Made up here: with a flat prior one good copy is had from at most n with probability n / (n + 1), and
    # 99,999 / 100,000 is 1 - 1e-5.
    assert quantile_of_copies_used(Beta(1, 1), 1, 1 - 1e-5) == 99_999
    assert MOST_SPOILED > 99_999


def test_quantiles_of_many_counts_are_those_of_each() -> None:
    belief, counts, levels = Beta(10.5, 2), [4, 0, 90, 4, 17], [0.9, 0.1]
    assert quantiles_of_copies_used(belief, counts, levels) == [
        tuple(quantile_of_copies_used(belief, count, level) for level in levels) for count in counts
    ]


def test_none_wanted_uses_none() -> None:
    assert quantile_of_copies_used(Beta(3, 1), 0, 0.9) == 0
    assert mass_of_spoiled(Beta(3, 1), 0, 3).tolist() == [1, 0, 0, 0]


def test_the_log_adds_to_the_prior() -> None:
    assert posterior(Beta(0.5, 0.5), UsageLog(good=18, spoiled=3)) == Beta(18.5, 3.5)
    assert posterior(DEFAULT_PRIOR, UsageLog(0, 0)) == DEFAULT_PRIOR


def test_the_default_prior_plans_with_one_spoiled_copy_in_ten_and_has_a_mean() -> None:
    assert DEFAULT_PRIOR.mean == pytest.approx(0.9)
    assert mean_copies_used(DEFAULT_PRIOR, 10) == pytest.approx(10 + 10 / 8)


@pytest.mark.parametrize("weights", [(0, 1), (1, 0), (-1, 1), (math.nan, 1), (1, math.inf)])
def test_a_belief_needs_two_positive_numbers(weights: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="must be a number above 0"):
        Beta(*weights)


def test_counts_below_nothing_and_levels_outside_are_refused() -> None:
    with pytest.raises(ValueError, match="spoiled must be 0 or more"):
        UsageLog(good=1, spoiled=-1)
    with pytest.raises(ValueError, match="good_wanted"):
        mean_copies_used(Beta(2, 1), -1)
    with pytest.raises(ValueError, match="level"):
        quantile_of_copies_used(Beta(2, 1), 1, 1.0)
