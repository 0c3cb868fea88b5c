"""The cover of one appliance: how many spares are left after each shoot day, until when, how sure.

Words used here. On each shoot day a number of good copies is needed. The copies used by the end of a day are
the good ones needed so far and those spoiled on the way. The supply of a day is what is on set now and every
arrival dated on or before that day: an arrival between two shoot days is there for the second of them, one
before the first day is there on the first, one after the last day counts for nothing. A day is short when the
copies used pass the supply.

All days share one success rate, which nobody knows. Given the log, the copies come out like balls of a Pólya
urn: with belief Beta(a, b), after g good and s spoiled copies the next one is good with probability (a + g) /
(a + b + g + s). The days are therefore not independent, and the chance of ever being short is not a product
over days. It is worked out copy by copy, without simulation: see `_first_short`.

Where copies are not all alike (some pass their shelf date while the plan runs, some are set aside for a
scene, some are still to be poured) what is on hand has to be followed too: see `on_hand.py`. First expired,
first used. A copy past its date no longer counts, so the supply of a day is then less what has expired unused
before it, which depends on how many were used.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from continuity.cover.consumption import (
    Beta,
    Floats,
    mean_copies_used,
    posterior,
    quantiles_of_copies_used,
)
from continuity.cover.on_hand import NEGLIGIBLE, first_short_on_hand, left_on_hand
from continuity.cover.plan import (
    Plan,
    all_alike,
    allowed_to_be_short,
    check_plan,
    spares_now,
)

_LOW, _HIGH = 0.10, 0.90
_NEGLIGIBLE_IN_A_SEARCH = 1e-12


@dataclass(frozen=True)
class DayCover:
    """The state at the end of one shoot day. None of the three counts is conditioned on having got that far
    without being short, so a negative number is copies owed.

    `expected_left`: supply less the mean of the copies used; None where that mean is infinite.
    `left_p10`, `left_p90`: supply less the 90 % and the 10 % quantile of the copies used (a quantile is the
    smallest count whose cumulative probability reaches the level); None where the quantile is out of all
    reason (`consumption.MOST_SPOILED`).
    `p_short_by`: probability that on this day or an earlier one the copies used passed the supply.

    Where copies are not all alike the three counts are the mean and the quantiles of what is left itself:
    `left_p10` is the most copies of which so many or more are left with 90 %, `left_p90` with 10 %. Left is
    every copy that has come, less those used and those whose shelf date lay before this day (one that may be
    used on this day for the last time is still counted). Copies owed are paid from the next to come. Copies
    set aside are counted from the day of their scene on.
    """

    date: datetime.date
    expected_left: float | None
    left_p10: int | None
    left_p90: int | None
    p_short_by: float


@dataclass(frozen=True)
class Cover:
    """`p_covered`: probability that no day is short, 1 for a plan without days.
    `first_day_at_risk`: the first day whose `p_short_by` exceeds 1 less the target, None if there is none.
    `spares_now`: see `spares_now`.
    `left_out`: so much probability was not followed and counts as short: the true cover is at least
    `p_covered` and at most `p_covered + left_out`. 0 where copies are all alike, and otherwise of the order
    of 1e-14 (`on_hand.NEGLIGIBLE`) in all but monstrous plans.
    """

    days: tuple[DayCover, ...]
    p_covered: float
    first_day_at_risk: datetime.date | None
    spares_now: int
    left_out: float = 0.0


def work_out_cover(plan: Plan) -> Cover:
    """The cover of one appliance. Raises InvalidPlan, naming the field, for a plan that breaks its own
    rules.
    """
    check_plan(plan)
    belief = posterior(plan.prior, plan.log)
    short, p_covered, left_out = _short(plan, belief, NEGLIGIBLE)
    days = tuple(
        DayCover(day.date, *left, p_short_by)
        for day, left, p_short_by in zip(plan.days, _left(plan, belief), short, strict=True)
    )
    allowed = allowed_to_be_short(plan.target)
    at_risk = next((day.date for day in days if day.p_short_by > allowed), None)
    return Cover(
        days=days,
        p_covered=p_covered,
        first_day_at_risk=at_risk,
        spares_now=spares_now(plan),
        left_out=left_out,
    )


def left_by_day(plan: Plan) -> list[tuple[float | None, int | None, int | None]]:
    """`expected_left`, `left_p10` and `left_p90` of each day, without the chances. Raises InvalidPlan like
    `work_out_cover`.
    """
    check_plan(plan)
    return _left(plan, posterior(plan.prior, plan.log))


def certainly_short(plan: Plan) -> bool:
    """Whether some day needs more copies than can be there, were none spoiled, none expired, and every copy
    of a run good. What this says is certain; what it does not say may be so all the same.
    """
    maybe = sum(run.poured for run in plan.runs) + sum(aside.copies for aside in plan.set_aside)
    supply = supply_by_day(plan)
    return any(needed > there + maybe for needed, there in zip(_needed_by_day(plan), supply, strict=True))


def chance_of_being_short(plan: Plan, stop_above: float = 1.0) -> tuple[list[float], float]:
    """`p_short_by` of each day and `p_covered`, without the rest of the cover: what a search asks for again
    and again. Where copies are not all alike less is followed than for `work_out_cover` (the cover may come
    out lower, by 1e-8 or so), and nothing after the day whose `p_short_by` passes `stop_above`
    (`on_hand.first_short_on_hand`). Raises InvalidPlan like `work_out_cover`.
    """
    check_plan(plan)
    belief = posterior(plan.prior, plan.log)
    short, p_covered, _ = _short(plan, belief, _NEGLIGIBLE_IN_A_SEARCH, stop_above)
    return short, p_covered


def _short(
    plan: Plan, belief: Beta, negligible: float, stop_above: float = 1.0
) -> tuple[list[float], float, float]:
    if all_alike(plan):
        return *_first_short(belief, supply_by_day(plan), _needed_by_day(plan)), 0.0
    return first_short_on_hand(belief, plan, negligible, stop_above)


def _left(plan: Plan, belief: Beta) -> list[tuple[float | None, int | None, int | None]]:
    if not all_alike(plan):
        return left_on_hand(belief, plan, (_HIGH, _LOW))
    needed = _needed_by_day(plan)
    quantiles = quantiles_of_copies_used(belief, needed, (_LOW, _HIGH))
    left: list[tuple[float | None, int | None, int | None]] = []
    for there, good, (low, high) in zip(supply_by_day(plan), needed, quantiles, strict=True):
        mean = mean_copies_used(belief, good)
        left.append(
            (
                None if mean is None else there - mean,
                None if high is None else there - high,
                None if low is None else there - low,
            )
        )
    return left


def _needed_by_day(plan: Plan) -> list[int]:
    return list(itertools.accumulate(day.copies_needed for day in plan.days))


def supply_by_day(plan: Plan) -> list[int]:
    """Copies on set now and arrived by the end of each shoot day, used or not; one number a day. Shelf dates,
    copies set aside and runs not yet poured are not looked at.
    """
    coming = sorted(plan.arrivals, key=lambda arrival: arrival.date)
    supply, there, next_one = [], plan.on_set + sum(lot.copies for lot in plan.dated), 0
    for day in plan.days:
        while next_one < len(coming) and coming[next_one].date <= day.date:
            there += coming[next_one].copies
            next_one += 1
        supply.append(there)
    return supply


def _first_short(belief: Beta, supply: Sequence[int], needed: Sequence[int]) -> tuple[list[float], float]:
    """Probability of having been short by the end of each day, and that of never being short.

    `supply` and `needed` are both cumulative and do not fall, one number a day.

    One step is one copy. After `used` copies the state is the number of good ones, g; the rest are spoiled.
    With g good copies the work is at the day on which good copy g + 1 is needed, whose supply is `limit[g]`.
    A state that has used up that supply is short: its probability is taken out and booked on that day. A
    state that has all good copies is done. Every term is a product or a sum of positive numbers, so a chance
    of 1e-12 keeps its digits; it is never found as 1 less something.
    """
    days = len(needed)
    # From the first day that needs more than can be there, being short is certain.
    certain = next((d for d in range(days) if needed[d] > supply[d]), days)
    by_day = np.zeros(days)
    by_day[certain:] = 1.0
    counted = min(certain + 1, days)
    good_wanted = needed[counted - 1] if counted else 0
    if good_wanted == 0:
        return by_day.tolist(), 1.0
    limits = np.asarray(supply[:counted], dtype=np.int64)
    most_used = int(limits[-1])
    if certain < days:
        good_wanted = min(good_wanted, most_used + 1)
    each_day = np.diff(np.minimum(needed[:counted], good_wanted), prepend=0)
    day_of = np.repeat(np.arange(counted), each_day)
    limit = np.repeat(limits, each_day)

    short = np.zeros(counted)
    done = 0.0
    good_weight = belief.good + np.arange(good_wanted, dtype=np.float64)
    spoiled_weight: Floats = belief.spoiled + np.arange(most_used, -1, -1, dtype=np.float64)
    weight = belief.good + belief.spoiled
    alive = np.zeros(good_wanted)
    alive[0] = 1.0
    low = 0
    next_limit = int(limit[0])
    for used in range(most_used + 1):
        if used == next_limit:
            high = int(np.searchsorted(limit, used, side="right"))
            short += np.bincount(day_of[low:high], weights=alive[low:high], minlength=counted)
            if high == good_wanted:
                break
            low, next_limit = high, int(limit[high])
        high = min(used + 1, good_wanted)
        here = alive[low:high]
        good = here * good_weight[low:high]
        good /= weight + used
        here *= spoiled_weight[most_used - used + low : most_used - used + high]
        here /= weight + used
        here[1:] += good[:-1]
        if high < good_wanted:
            alive[high] = good[-1]
        else:
            done += float(good[-1])

    by_day[:certain] = np.minimum(np.cumsum(short), 1.0)[:certain]
    if certain < days:
        return by_day.tolist(), 0.0
    # Whichever of the two is the smaller has the more digits.
    last = float(by_day[-1])
    return by_day.tolist(), 1.0 - last if last <= 0.5 else done
