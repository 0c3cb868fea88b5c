"""The part of a plan that the shop can still serve.

When a day in the near future is as good as sure to be short whatever the shop does, the cover is close to 0
with any order, and no order is better than another by that measure. The days after it still need copies. So
the applications that cannot be served are taken out of the plan, as few copies as can be from the first day
still at risk and so on, until the rest can be brought to the target; the order is then for the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar, overload

from continuity.cover.calculation import chance_of_being_short, supply_by_day
from continuity.cover.consumption import posterior, quantile_of_copies_used
from continuity.cover.grades import (
    HIGHEST_FIRST,
    GradedCopies,
    GradedPlan,
    graded_chance_of_being_short,
    together,
)
from continuity.cover.plan import MOST_FOLLOWED, Plan, allowed_to_be_short
from continuity.cover.shop import Making, Shop
from continuity.stock.grade import Grade, grade_serves

MOST_DAYS = 20
"""Days from which copies are taken out, at most, after those that are certain to be missing."""

_ENOUGH = 1 - 1e-9


AnyPlan = TypeVar("AnyPlan", Plan, GradedPlan)


@overload
def part_that_can_be_served(plan: Plan, shop: Shop, grade: Grade = ...) -> Plan: ...
@overload
def part_that_can_be_served(plan: GradedPlan, shop: Shop, grade: Grade = ...) -> GradedPlan: ...
def part_that_can_be_served(
    plan: Plan | GradedPlan, shop: Shop, grade: Grade = Grade.HERO
) -> Plan | GradedPlan:
    """The plan with what cannot be served left out; the plan itself when all can be, or nothing is needed.
    Where looks ask for several grades the copies made pass as `grade`, and of a day the fewest copies are
    left out, those of the lower grades if that is as few.
    """
    whole = plan if isinstance(plan, Plan) else together(plan)
    needing = [day.date for day in whole.days if day.copies_needed]
    if not needing:
        return plan
    belief = posterior(plan.prior, plan.log)
    ever_used = quantile_of_copies_used(belief, whole.needed, _ENOUGH)
    limit = max(0, min(ever_used or MOST_FOLLOWED, MOST_FOLLOWED - whole.most_supplied))
    making = Making(shop, needing[-1], limit)
    come = making.arrivals(making.most)
    if isinstance(plan, Plan):
        return _served(
            _without_what_is_certain(plan, replace(plan, arrivals=(*plan.arrivals, *come))),
            lambda part: chance_of_being_short(replace(part, arrivals=(*part.arrivals, *come)))[0],
            lambda part, at: part.days[at].copies_needed,
            (_without,),
        )
    made = tuple(GradedCopies(grade, each.copies, each.date) for each in come)
    return _served(
        _graded_without_what_is_certain(plan, (*plan.supply, *made)),
        lambda part: graded_chance_of_being_short(replace(part, supply=(*part.supply, *made)))[0],
        lambda part, at: sum(part.days[at].copies_needed.values()),
        (_without_lower, _without_higher),
    )


def _served(
    part: AnyPlan,
    short: Callable[[AnyPlan], list[float]],
    needed: Callable[[AnyPlan, int], int],
    ways: Sequence[Callable[[AnyPlan, int, int], AnyPlan]],
) -> AnyPlan:
    """The plan brought to its target: `short` are the chances by day, `needed` the copies of a day, `ways` to
    leave some of them out.
    """
    allowed = allowed_to_be_short(part.target)
    for _ in range(MOST_DAYS):
        chances = short(part)
        at_risk = next((at for at, risk in enumerate(chances) if risk > allowed and needed(part, at)), None)
        if at_risk is None:
            break
        # The fewest copies without which that day is at risk no more, or all it needs.
        best: tuple[int, AnyPlan] | None = None
        for without in ways:
            fewest, most = 1, needed(part, at_risk)
            while fewest < most:
                middle = (fewest + most) // 2
                if short(without(part, at_risk, middle))[at_risk] <= allowed:
                    most = middle
                else:
                    fewest = middle + 1
            if best is None or fewest < best[0]:
                best = fewest, without(part, at_risk, fewest)
        if best is not None:
            part = best[1]
    return part


def _without_what_is_certain(plan: Plan, made: Plan) -> Plan:
    """Without copies that are certain to be missing with all that is made."""
    needed = 0
    for at, there in enumerate(supply_by_day(_with_all_that_may_come(made))):
        needed += plan.days[at].copies_needed
        if needed > there:
            plan = _without(plan, at, needed - there)
            needed = there
    return plan


def _graded_without_what_is_certain(plan: GradedPlan, supply: Sequence[GradedCopies]) -> GradedPlan:
    """The same: the looks that ask for a grade or a higher one have only copies of these grades."""
    for lowest in HIGHEST_FIRST:
        needed = 0
        for at, day in enumerate(plan.days):
            needed += sum(
                copies for grade, copies in plan.days[at].copies_needed.items() if grade_serves(grade, lowest)
            )
            there = sum(
                lot.copies
                for lot in supply
                if grade_serves(lot.grade, lowest) and (lot.date is None or lot.date <= day.date)
            )
            if needed > there:
                asked = tuple(grade for grade in reversed(HIGHEST_FIRST) if grade_serves(grade, lowest))
                plan = _graded_without(plan, at, needed - there, asked)
                needed = there
    return plan


def _without_lower(plan: GradedPlan, at: int, copies: int) -> GradedPlan:
    return _graded_without(plan, at, copies, tuple(reversed(HIGHEST_FIRST)))


def _without_higher(plan: GradedPlan, at: int, copies: int) -> GradedPlan:
    return _graded_without(plan, at, copies, HIGHEST_FIRST)


def _graded_without(plan: GradedPlan, at: int, copies: int, grades: Sequence[Grade]) -> GradedPlan:
    """The plan with so many copies fewer needed on one of its days, of these grades in turn."""
    day = plan.days[at]
    needed = dict(day.copies_needed)
    for grade in grades:
        gone = min(copies, needed.get(grade, 0))
        copies -= gone
        if gone:
            needed[grade] -= gone
    days = (*plan.days[:at], replace(day, copies_needed=needed), *plan.days[at + 1 :])
    return replace(plan, days=days)


def _with_all_that_may_come(plan: Plan) -> Plan:
    """Runs and copies set aside counted whole: what is missing even then is certain to be missing."""
    return replace(
        plan,
        on_set=plan.on_set + sum(aside.copies for aside in plan.set_aside) + sum(r.poured for r in plan.runs),
    )


def _without(plan: Plan, at: int, copies: int) -> Plan:
    """The plan with so many copies fewer needed on one of its days."""
    day = plan.days[at]
    left = max(0, day.copies_needed - copies)
    days = (*plan.days[:at], replace(day, copies_needed=left), *plan.days[at + 1 :])
    asides = []
    for aside in plan.set_aside:
        if aside.date == day.date:
            wanted = min(aside.copies_needed, left)
            left -= wanted
            aside = replace(aside, copies_needed=wanted)
        asides.append(aside)
    return replace(plan, days=days, set_aside=tuple(asides))
