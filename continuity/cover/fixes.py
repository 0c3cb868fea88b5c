"""What would help where the shop cannot make the copies in time, each remedy worked out."""

from __future__ import annotations

import datetime
import enum
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from continuity.cover.grades import GradedCopies, GradedDay, GradedPlan, together
from continuity.cover.plan import DatedCopies, Plan, PlannedDay
from continuity.cover.reorder import Reorder, chances_of, order_search, work_out_reorder
from continuity.cover.shop import Shop
from continuity.stock.grade import Grade, grade_serves

MOST_DAYS_MOVED = 7
"""How many days later a shoot day is tried, when a move is looked for."""

_AS_GOOD = 1e-9
_DAY = datetime.timedelta(days=1)

AnyDay = TypeVar("AnyDay", PlannedDay, GradedDay)


class Remedy(enum.StrEnum):
    """What may help when the target is out of reach."""

    ONE_MORE_MOULD = "one more mould"
    MOVE_A_DAY = "move a shoot day"
    LOWER_GRADE = "accept a lower grade"


@dataclass(frozen=True)
class Fix:
    """One remedy, worked out: `reorder` is the order with it. `enough`: whether the target is then reached,
    by the order or without any. `moved` and `to`: the shoot day moved and its new date. `copies`: copies of a
    lower grade that would serve.
    """

    remedy: Remedy
    enough: bool
    p_covered: float
    reorder: Reorder
    moved: datetime.date | None = None
    to: datetime.date | None = None
    copies: int = 0


def work_out_fixes(
    plan: Plan | GradedPlan,
    shop: Shop,
    lower_grade: Sequence[DatedCopies | int] = (),
    grade: Grade = Grade.HERO,
) -> tuple[Fix, ...]:
    """What would help a plan whose target is out of reach, best first; nothing when it is in reach. `grade`
    is what the copies made pass as where looks ask for several.

    - One more mould like the one there is, from today on.
    - One shoot day moved to the next date without one, at most MOST_DAYS_MOVED days later: of all days up to
      the one still short the move that reaches the target with the fewest days between, or else the one that
      helps most.
    - Accepting `lower_grade`: copies on set of a grade that no look takes, counts without a shelf date or
      with one. Where looks ask for several grades, every look then takes any copy.

    A remedy that does not raise the best cover is left out. Where the plan leaves copies out, so that its
    cover is a lower bound (`assemble.py`), what is said of a remedy is one too.
    """
    without = work_out_reorder(plan, shop, grade)
    if without.possible:
        return ()
    fixes = []

    def tried(remedy: Remedy, plan: Plan | GradedPlan, shop: Shop) -> Fix:
        reorder = work_out_reorder(plan, shop, grade)
        return Fix(remedy, reorder.possible, reorder.best_p_covered, reorder)

    mould = replace(shop.mould, moulds=shop.mould.moulds + 1)
    fixes.append(tried(Remedy.ONE_MORE_MOULD, plan, replace(shop, mould=mould)))
    accepting, copies = _accepting(plan, lower_grade)
    if copies:
        fixes.append(replace(tried(Remedy.LOWER_GRADE, accepting, shop), copies=copies))
    moves = []
    whole = together(plan) if isinstance(plan, GradedPlan) else plan
    for i, day in enumerate(whole.days):
        if without.still_short is None or day.date > without.still_short:
            break
        to = _free_date(whole, day.date)
        if to is None or not day.copies_needed:
            continue
        moved = _moved(plan, i, to)
        order = order_search(moved, shop, chances_of(moved, grade))
        enough, p_covered = order.most_reaches, order.best()
        moves.append((not enough, (to - day.date).days if enough else 0, -p_covered, day.date, to, moved))
    if moves:
        *_, date, to, moved = min(moves, key=lambda move: move[:4])
        fixes.append(replace(tried(Remedy.MOVE_A_DAY, moved, shop), moved=date, to=to))
    helping = [fix for fix in fixes if fix.p_covered > without.best_p_covered + _AS_GOOD]
    return tuple(sorted(helping, key=lambda fix: (not fix.enough, -fix.p_covered)))


def _accepting(plan: Plan | GradedPlan, lower_grade: Sequence[DatedCopies | int]) -> tuple[Plan, int]:
    """The plan in which copies of a lower grade serve too, and how many of them are on set."""
    dated = tuple(lot for lot in lower_grade if isinstance(lot, DatedCopies))
    plain = sum(lot for lot in lower_grade if isinstance(lot, int))
    copies = plain + sum(lot.copies for lot in dated)
    if isinstance(plan, GradedPlan):
        asked = {grade for day in plan.days for grade, needed in day.copies_needed.items() if needed}
        copies += sum(lot.copies for lot in plan.supply if lot.date is None and not _serves_all(lot, asked))
        plan = together(plan)
    return replace(plan, on_set=plan.on_set + plain, dated=(*plan.dated, *dated)), copies


def _serves_all(lot: GradedCopies, asked: set[Grade]) -> bool:
    return all(grade_serves(lot.grade, grade) for grade in asked)


def _free_date(plan: Plan, date: datetime.date) -> datetime.date | None:
    """The next date that is not a day of the plan."""
    taken = {day.date for day in plan.days}
    most = min(MOST_DAYS_MOVED, (datetime.date.max - date).days)
    later = (date + days * _DAY for days in range(1, most + 1))
    return next((to for to in later if to not in taken), None)


def _moved(plan: Plan | GradedPlan, which: int, to: datetime.date) -> Plan | GradedPlan:
    if isinstance(plan, GradedPlan):
        return replace(plan, days=_with_moved(plan.days, which, to))
    date = plan.days[which].date
    asides = tuple(replace(each, date=to) if each.date == date else each for each in plan.set_aside)
    return replace(plan, days=_with_moved(plan.days, which, to), set_aside=asides)


def _with_moved(days: Sequence[AnyDay], which: int, to: datetime.date) -> tuple[AnyDay, ...]:
    moved = [replace(day, date=to) if i == which else day for i, day in enumerate(days)]
    return tuple(sorted(moved, key=lambda day: day.date))
