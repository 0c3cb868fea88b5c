"""What the cover of one appliance is worked out from: the copies there are and will be, and the days that
need them.

Words. The supply is of five kinds: copies on set without a shelf date, copies on set with one, arrivals on a
date, cast runs that are due but not yet poured (nobody knows how many of their copies will pass), and copies
set aside for a named scene. A shelf date is the last day on which a copy may be put on.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from dataclasses import dataclass, replace

from continuity.cover.consumption import Beta, UsageLog

MOST_COPIES = 20_000
"""Most copies a plan may supply in all, and most it may need in all. Work and memory grow with both."""

MOST_FOLLOWED = 1_000
"""The same bound for a plan in which copies are not all alike: some pass their shelf date while it runs, some
are set aside, or some are yet to be poured. What is on hand has to be followed there, copy by copy."""


_DAY = datetime.timedelta(days=1)


class InvalidPlan(ValueError):
    """A plan that cannot be worked out. `field` is the path of what is wrong, such as days[3].copies_needed;
    the text is one sentence that names it.
    """

    def __init__(self, field: str, problem: str) -> None:
        self.field = field
        super().__init__(f"{field} {problem}.")


@dataclass(frozen=True)
class Arrival:
    """`copies` (0 or more) that are usable on set from `date` on, up to and on `use_by` if there is one."""

    date: datetime.date
    copies: int
    use_by: datetime.date | None = None


@dataclass(frozen=True)
class DatedCopies:
    """`copies` (0 or more) on set now that may be used up to and on `use_by`."""

    copies: int
    use_by: datetime.date


@dataclass(frozen=True)
class RunDue:
    """A cast run not yet poured: of `poured` copies (0 or more) so many are usable from `date` on as pass.

    Each copy passes or not, independently of the others when the mould's yield is known; the yield is not
    known, and has the belief `mould_yield` (its prior with its log). Runs with the same `mould` share one
    yield, so a bad first run speaks against the second; runs of different moulds are independent. A run that
    fails as a whole (a bad batch of gel) is not modelled apart.
    """

    date: datetime.date
    poured: int
    mould_yield: Beta
    mould: str = ""
    use_by: datetime.date | None = None


@dataclass(frozen=True)
class SetAside:
    """`copies` (0 or more) usable on set that are kept for a scene shot on `date`, which asks for
    `copies_needed` of that day's copies.

    They are no spares for anything else until that scene is shot. The scene uses them first and takes from
    the others when they run out; what it leaves is free from the next day on. The scene counts as the last
    of its day. `copies` are not counted in the plan's other supply, `copies_needed` is part of the day's.
    """

    date: datetime.date
    copies_needed: int
    copies: int
    use_by: datetime.date | None = None


@dataclass(frozen=True)
class PlannedDay:
    """A shoot day on which `copies_needed` (0 or more) good copies are to be applied."""

    date: datetime.date
    copies_needed: int


@dataclass(frozen=True)
class Plan:
    """What the cover of one appliance is worked out from.

    `target` is the probability of never being short that is wanted, between 0 and 1; `on_set` the usable
    copies on set now that have no shelf date, `dated` those that have one. Arrivals, dated copies and runs
    come in any order, several may share a date. Days have strictly increasing dates.
    """

    target: float
    prior: Beta
    log: UsageLog
    on_set: int
    arrivals: tuple[Arrival, ...]
    days: tuple[PlannedDay, ...]
    dated: tuple[DatedCopies, ...] = ()
    runs: tuple[RunDue, ...] = ()
    set_aside: tuple[SetAside, ...] = ()

    @property
    def most_supplied(self) -> int:
        """Copies that are or may come to be on set, whatever their dates."""
        return (
            self.on_set
            + sum(lot.copies for lot in self.dated)
            + sum(arrival.copies for arrival in self.arrivals)
            + sum(run.poured for run in self.runs)
            + sum(aside.copies for aside in self.set_aside)
        )

    @property
    def needed(self) -> int:
        """Good copies needed over all days."""
        return sum(day.copies_needed for day in self.days)


def all_alike(plan: Plan) -> bool:
    """Whether one copy is as good as another through all of the plan: none passes its shelf date before the
    last day, none is set aside, and none is uncertain to come.
    """
    if plan.runs or plan.set_aside:
        return False
    if not plan.days:
        return True
    last = plan.days[-1].date
    dates = [lot.use_by for lot in plan.dated] + [arrival.use_by for arrival in plan.arrivals]
    return all(use_by is None or use_by >= last for use_by in dates)


def in_blocks(plan: Plan) -> Plan:
    """The same with days put together, as the last of them, while nothing comes, expires, or is set aside in
    between. Whoever is short on one of them is short for all that they need together, so the chance of having
    been short is the same at the end of each such block, and at the end of the plan.
    """
    changes = {arrival.date for arrival in plan.arrivals} | {run.date for run in plan.runs}
    ends = [lot.use_by for lot in plan.dated] + [arrival.use_by for arrival in plan.arrivals]
    ends += [run.use_by for run in plan.runs] + [aside.use_by for aside in plan.set_aside]
    # What may be used up to and on a date is gone from the next on.
    changes |= {use_by + _DAY for use_by in ends if use_by is not None and use_by < datetime.date.max}
    changes |= {aside.date for aside in plan.set_aside}
    changes |= {aside.date + _DAY for aside in plan.set_aside if aside.date < datetime.date.max}
    following = sorted(changes)
    blocks: list[PlannedDay] = []
    block: int | None = None
    for day in plan.days:
        at = bisect_right(following, day.date)
        if at == block:
            day = PlannedDay(day.date, blocks.pop().copies_needed + day.copies_needed)
        blocks.append(day)
        block = at
    return replace(plan, days=tuple(blocks))


def allowed_to_be_short(target: float) -> float:
    """The greatest probability of being short that still meets the target.

    1 - 0.9 is a little less than 0.1 in floats: a day that meets the target exactly is not at risk.
    """
    return (1 - target) * (1 + 1e-9)


def spares_now(plan: Plan) -> int:
    """Copies on set now that can still be put on by the first day of the plan. What is still to arrive does
    not count, nor do copies set aside for a scene.
    """
    first = plan.days[0].date if plan.days else None
    return plan.on_set + sum(lot.copies for lot in plan.dated if first is None or lot.use_by >= first)


def check_plan(plan: Plan) -> None:
    """Raises InvalidPlan for a target not between 0 and 1, a negative count, dates of days that do not
    increase strictly, copies set aside for a day that is not there or needs fewer, and totals above
    MOST_COPIES (MOST_FOLLOWED where copies are not all alike).
    """
    if not 0 < plan.target < 1:
        raise InvalidPlan("target", "must be above 0 and below 1")
    if plan.on_set < 0:
        raise InvalidPlan("on_set", "must be 0 or more")
    for i, lot in enumerate(plan.dated):
        if lot.copies < 0:
            raise InvalidPlan(f"on_set[{i}].copies", "must be 0 or more")
    for i, arrival in enumerate(plan.arrivals):
        if arrival.copies < 0:
            raise InvalidPlan(f"arrivals[{i}].copies", "must be 0 or more")
    for i, run in enumerate(plan.runs):
        if run.poured < 0:
            raise InvalidPlan(f"runs[{i}].poured", "must be 0 or more")
    for i, day in enumerate(plan.days):
        if day.copies_needed < 0:
            raise InvalidPlan(f"days[{i}].copies_needed", "must be 0 or more")
        if i and day.date <= plan.days[i - 1].date:
            raise InvalidPlan(
                f"days[{i}].date",
                f"must be later than the day before it in the list, {plan.days[i - 1].date}",
            )
    _check_set_aside(plan)
    if plan.on_set > MOST_COPIES:
        raise InvalidPlan("on_set", f"must be {MOST_COPIES} or less")
    most, why = MOST_COPIES, ""
    if not all_alike(plan):
        most, why = MOST_FOLLOWED, ", as they are not all alike"
    if plan.most_supplied > most:
        field = "arrivals" if plan.arrivals else "on_set"
        raise InvalidPlan(field, f"must not bring the supply above {most} copies in all{why}")
    if plan.needed > most:
        raise InvalidPlan("days", f"must not need more than {most} copies in all{why}")


def _check_set_aside(plan: Plan) -> None:
    needed = {day.date: day.copies_needed for day in plan.days}
    for i, aside in enumerate(plan.set_aside):
        for name, count in (("copies", aside.copies), ("copies_needed", aside.copies_needed)):
            if count < 0:
                raise InvalidPlan(f"set_aside[{i}].{name}", "must be 0 or more")
        if aside.date not in needed:
            raise InvalidPlan(f"set_aside[{i}].date", "must be one of the days")
        needed[aside.date] -= aside.copies_needed
        if needed[aside.date] < 0:
            raise InvalidPlan(
                f"set_aside[{i}].copies_needed", "must not bring the day above what it needs in all"
            )
