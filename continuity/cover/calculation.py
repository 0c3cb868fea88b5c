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
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from continuity.cover.consumption import (
    Beta,
    Floats,
    UsageLog,
    mean_copies_used,
    posterior,
    quantiles_of_copies_used,
)

MOST_COPIES = 20_000
"""Most copies a plan may supply in all, and most it may need in all. Work and memory grow with both."""

_LOW, _HIGH = 0.10, 0.90
_SAME = 1e-9


class InvalidPlan(ValueError):
    """A plan that cannot be worked out. `field` is the path of what is wrong, such as days[3].copies_needed;
    the text is one sentence that names it.
    """

    def __init__(self, field: str, problem: str) -> None:
        self.field = field
        super().__init__(f"{field} {problem}.")


@dataclass(frozen=True)
class Arrival:
    """`copies` (0 or more) that are usable on set from `date` on."""

    date: datetime.date
    copies: int


@dataclass(frozen=True)
class PlannedDay:
    """A shoot day on which `copies_needed` (0 or more) good copies are to be applied."""

    date: datetime.date
    copies_needed: int


@dataclass(frozen=True)
class Plan:
    """What the cover of one appliance is worked out from.

    `target` is the probability of never being short that is wanted, between 0 and 1; `on_set` the usable
    copies on set now. Arrivals come in any order, several may share a date. Days have strictly increasing
    dates.
    """

    target: float
    prior: Beta
    log: UsageLog
    on_set: int
    arrivals: tuple[Arrival, ...]
    days: tuple[PlannedDay, ...]


@dataclass(frozen=True)
class DayCover:
    """The state at the end of one shoot day. None of the three counts is conditioned on having got that far
    without being short, so a negative number is copies owed.

    `expected_left`: supply less the mean of the copies used; None where that mean is infinite.
    `left_p10`, `left_p90`: supply less the 90 % and the 10 % quantile of the copies used (a quantile is the
    smallest count whose cumulative probability reaches the level); None where the quantile is out of all
    reason (`consumption.MOST_SPOILED`).
    `p_short_by`: probability that on this day or an earlier one the copies used passed the supply.
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
    """

    days: tuple[DayCover, ...]
    p_covered: float
    first_day_at_risk: datetime.date | None
    spares_now: int


def work_out_cover(plan: Plan) -> Cover:
    """The cover of one appliance. Raises InvalidPlan, naming the field, for a plan that breaks its own
    rules.
    """
    check_plan(plan)
    belief = posterior(plan.prior, plan.log)
    supply = supply_by_day(plan)
    needed = np.cumsum([day.copies_needed for day in plan.days], dtype=np.int64).tolist()
    quantiles = quantiles_of_copies_used(belief, needed, (_LOW, _HIGH))
    short, p_covered = _first_short(belief, supply, needed)

    days = []
    for day, there, good, (low, high), p_short_by in zip(
        plan.days, supply, needed, quantiles, short, strict=True
    ):
        mean = mean_copies_used(belief, good)
        days.append(
            DayCover(
                date=day.date,
                expected_left=None if mean is None else there - mean,
                left_p10=None if high is None else there - high,
                left_p90=None if low is None else there - low,
                p_short_by=p_short_by,
            )
        )
    # 1 - 0.9 is a little less than 0.1 in floats: a day that meets the target exactly is not at risk.
    allowed = (1 - plan.target) * (1 + _SAME)
    at_risk = next((day.date for day in days if day.p_short_by > allowed), None)
    return Cover(
        days=tuple(days), p_covered=p_covered, first_day_at_risk=at_risk, spares_now=spares_now(plan)
    )


def spares_now(plan: Plan) -> int:
    """Usable copies on set now, less those needed for the next shoot day that needs any.

    A spare is a usable copy not needed for the next planned application, so days that need none are passed
    over, and what is still to arrive does not count. Negative means copies owed to that day. With no such day
    every copy on set is a spare.
    """
    return plan.on_set - next((day.copies_needed for day in plan.days if day.copies_needed), 0)


def supply_by_day(plan: Plan) -> list[int]:
    """Copies on set now and arrived by the end of each shoot day, used or not; one number a day."""
    coming = sorted(plan.arrivals, key=lambda arrival: arrival.date)
    supply, there, next_one = [], plan.on_set, 0
    for day in plan.days:
        while next_one < len(coming) and coming[next_one].date <= day.date:
            there += coming[next_one].copies
            next_one += 1
        supply.append(there)
    return supply


def check_plan(plan: Plan) -> None:
    """Raises InvalidPlan for a target not between 0 and 1, a negative count, dates of days that do not
    increase strictly, and totals above MOST_COPIES.
    """
    if not 0 < plan.target < 1:
        raise InvalidPlan("target", "must be above 0 and below 1")
    if plan.on_set < 0:
        raise InvalidPlan("on_set", "must be 0 or more")
    for i, arrival in enumerate(plan.arrivals):
        if arrival.copies < 0:
            raise InvalidPlan(f"arrivals[{i}].copies", "must be 0 or more")
    for i, day in enumerate(plan.days):
        if day.copies_needed < 0:
            raise InvalidPlan(f"days[{i}].copies_needed", "must be 0 or more")
        if i and day.date <= plan.days[i - 1].date:
            raise InvalidPlan(
                f"days[{i}].date",
                f"must be later than the day before it in the list, {plan.days[i - 1].date}",
            )
    if plan.on_set > MOST_COPIES:
        raise InvalidPlan("on_set", f"must be {MOST_COPIES} or less")
    if plan.on_set + sum(arrival.copies for arrival in plan.arrivals) > MOST_COPIES:
        raise InvalidPlan("arrivals", f"must not bring the supply above {MOST_COPIES} copies in all")
    if sum(day.copies_needed for day in plan.days) > MOST_COPIES:
        raise InvalidPlan("days", f"must not need more than {MOST_COPIES} copies in all")


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
