"""Copies that may as well come earlier: a search for an order follows far fewer steps with them together.

A copy that is taken last of all (one without a shelf date, of the highest grade) is not touched while nobody
can be short without it. So as far as that is certain but for `NEGLIGIBLE` a day, it changes nothing if it
comes earlier. Whether it is certain is judged on the safe side: copies past their date by then, copies set
aside, and runs not yet poured are left out, and where looks ask for several grades each has to be served by
copies of its own grade, or all by the highest.
"""

from __future__ import annotations

import datetime
import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from continuity.cover.consumption import Beta, Floats, posterior, quantiles_of_copies_used
from continuity.cover.grades import HIGHEST_FIRST, GradedCopies, GradedPlan
from continuity.cover.plan import Arrival, Plan
from continuity.stock.grade import Grade

NEGLIGIBLE = 1e-11

_Lot = tuple[datetime.date | None, datetime.date | None, int]  # comes on, may be used until, copies


class Earlier:
    """For one plan, asked again and again with other copies to come."""

    def __init__(self, plan: Plan) -> None:
        self._dates = [day.date for day in plan.days]
        self._enough = _enough(posterior(plan.prior, plan.log), [day.copies_needed for day in plan.days])
        lots: list[_Lot] = [(None, None, plan.on_set)]
        lots += [(None, lot.use_by, lot.copies) for lot in plan.dated]
        lots += [(each.date, each.use_by, each.copies) for each in plan.arrivals]
        self._there = _there(self._dates, lots)

    def of(self, plan: Plan, come: Sequence[Arrival]) -> Plan:
        """The plan with `come` as well, and all that may as well come earlier moved."""
        there = self._there + _there(self._dates, [(each.date, None, each.copies) for each in come])
        since = _safe_since(there >= self._enough)
        last = self._dates[-1] if self._dates else datetime.date.min
        return replace(
            plan,
            arrivals=tuple(
                replace(each, date=_moved(each.date, self._dates, since))
                if each.use_by is None or each.use_by >= last
                else each
                for each in (*plan.arrivals, *come)
            ),
        )


class GradedEarlier:
    """The same where looks ask for several grades."""

    def __init__(self, plan: GradedPlan) -> None:
        self._dates = [day.date for day in plan.days]
        belief = posterior(plan.prior, plan.log)
        self._own = {
            grade: _enough(belief, [day.copies_needed.get(grade, 0) for day in plan.days])
            for grade in HIGHEST_FIRST
        }
        self._all = _enough(belief, [sum(day.copies_needed.values()) for day in plan.days])
        self._there = {grade: self._of_grade(plan.supply, grade) for grade in HIGHEST_FIRST}

    def of(self, plan: GradedPlan, come: Sequence[GradedCopies]) -> GradedPlan:
        there = {
            grade: self._there[grade] + self._of_grade(come, grade) if come else self._there[grade]
            for grade in HIGHEST_FIRST
        }
        own = np.logical_and.reduce([there[grade] >= self._own[grade] for grade in HIGHEST_FIRST])
        since = _safe_since(own | (there[Grade.HERO] >= self._all))
        last = self._dates[-1] if self._dates else datetime.date.min
        return replace(
            plan,
            supply=tuple(
                replace(lot, date=_moved(lot.date, self._dates, since))
                if lot.date is not None
                and lot.grade is Grade.HERO
                and (lot.use_by is None or lot.use_by >= last)
                else lot
                for lot in (*plan.supply, *come)
            ),
        )

    def _of_grade(self, supply: Iterable[GradedCopies], grade: Grade) -> Floats:
        lots = [(lot.date, lot.use_by, lot.copies) for lot in supply if lot.grade is grade]
        return _there(self._dates, lots)


def _enough(belief: Beta, needed: Sequence[int]) -> Floats:
    """Copies by the end of each day with which being short is negligible; infinite where no number is."""
    wanted = list(itertools.accumulate(needed))
    found = quantiles_of_copies_used(belief, wanted, (1 - NEGLIGIBLE,))
    return np.array([np.inf if enough is None else enough for (enough,) in found], dtype=np.float64)


def _there(dates: Sequence[datetime.date], lots: Iterable[_Lot]) -> Floats:
    """Copies that have come by each day and may still be put on then. Shape (days,)."""
    changes = np.zeros(len(dates) + 1)
    for comes, use_by, copies in lots:
        begin = 0 if comes is None else bisect_left(dates, comes)
        end = len(dates) if use_by is None else bisect_right(dates, use_by)
        if begin < end:
            changes[begin] += copies
            changes[end] -= copies
    return np.cumsum(changes)[:-1]


def _safe_since(safe: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[int]:
    """For each day the first one from which on no day before it is at risk."""
    since, first = [], 0
    for at, is_safe in enumerate(safe.tolist()):
        since.append(first)
        if not is_safe:
            first = at + 1
    return since


def _moved(date: datetime.date, dates: Sequence[datetime.date], since: Sequence[int]) -> datetime.date:
    at = bisect_left(dates, date)
    return dates[since[at]] if at < len(dates) and since[at] < at else date
