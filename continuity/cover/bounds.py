"""Keeping a plan inside what can be worked out: a crowd may need more copies than can be followed one by one.

Then the days are looked at up to the one that would go past that, and of the supply what comes last is left
out beyond it. Fewer copies never raise the cover, so it is a lower bound up to that day.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from continuity.cover.grades import GradedCopies, GradedDay, GradedPlan
from continuity.cover.plan import (
    MOST_COPIES,
    Arrival,
    DatedCopies,
    Plan,
    PlannedDay,
    SetAside,
    all_alike,
)

Lot = TypeVar("Lot", Arrival, DatedCopies, SetAside, GradedCopies)

MOST_LOOKED_AT = 500
"""Copies needed, and supplied, that are followed one by one when they are not all alike. More could be
(`plan.MOST_FOLLOWED`), but an order is looked for with some thirty such plans, and a page waits for it."""

_DAY = datetime.timedelta(days=1)


def within_bounds(plan: Plan | GradedPlan) -> tuple[Plan | GradedPlan, datetime.date | None]:
    """A plan that can be worked out, the same one wherever it can; and the last day it looks at, where that
    is not its last.
    """
    most = MOST_COPIES if isinstance(plan, Plan) and all_alike(plan) else MOST_LOOKED_AT
    days, needed = 0, 0
    for day in plan.days:
        needed += _needed_on(day)
        if needed > most:
            break
        days += 1
    until = None
    if days < len(plan.days):
        until = plan.days[days - 1].date if days else plan.days[0].date - _DAY
        plan = _up_to(plan, days, until)
    if isinstance(plan, GradedPlan):
        if sum(lot.copies for lot in plan.supply) > most:
            first = sorted(plan.supply, key=lambda lot: lot.date or datetime.date.min)
            plan = replace(plan, supply=_first(first, most)[0])
    elif plan.most_supplied > most:
        plan = _with_fewer(plan, most)
    return plan, until


def _needed_on(day: PlannedDay | GradedDay) -> int:
    return day.copies_needed if isinstance(day, PlannedDay) else sum(day.copies_needed.values())


def _up_to(plan: Plan | GradedPlan, days: int, until: datetime.date) -> Plan | GradedPlan:
    if isinstance(plan, GradedPlan):
        there = tuple(lot for lot in plan.supply if lot.date is None or lot.date <= until)
        return replace(plan, days=plan.days[:days], supply=there)
    return replace(
        plan,
        days=plan.days[:days],
        arrivals=tuple(arrival for arrival in plan.arrivals if arrival.date <= until),
        runs=tuple(run for run in plan.runs if run.date <= until),
        set_aside=tuple(aside for aside in plan.set_aside if aside.date <= until),
    )


def _with_fewer(plan: Plan, most: int) -> Plan:
    """Copies set aside first, then those on set, those arriving, and those of runs, up to so many in all."""
    set_aside, most = _first(plan.set_aside, most)
    on_set = min(plan.on_set, most)
    dated, most = _first(plan.dated, most - on_set)
    arrivals, most = _first(plan.arrivals, most)
    runs = []
    for run in plan.runs:
        runs.append(replace(run, poured=min(run.poured, most)))
        most -= runs[-1].poured
    return replace(plan, on_set=on_set, set_aside=set_aside, dated=dated, arrivals=arrivals, runs=tuple(runs))


def _first(lots: Sequence[Lot], most: int) -> tuple[tuple[Lot, ...], int]:
    """The lots with so many copies in all or fewer, and how many more there may be."""
    kept = []
    for lot in lots:
        kept.append(replace(lot, copies=min(lot.copies, most)))
        most -= kept[-1].copies
    return tuple(kept), most
