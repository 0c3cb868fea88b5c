"""Days put together in blocks have the same chances at the end of each block. Cases drawn at random here."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.cover.calculation import chance_of_being_short
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.earlier import Earlier, GradedEarlier
from continuity.cover.grades import (
    GradedCopies,
    GradedDay,
    GradedPlan,
    graded_chance_of_being_short,
    graded_in_blocks,
)
from continuity.cover.plan import Arrival, DatedCopies, Plan, PlannedDay, RunDue, SetAside, in_blocks
from continuity.stock.grade import Grade

MONDAY = datetime.date(2026, 3, 2)
DATES = st.integers(0, 12).map(lambda ahead: MONDAY + datetime.timedelta(days=ahead))
SOMETIMES = st.one_of(st.none(), DATES)


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    dates = sorted(draw(st.sets(DATES, min_size=1, max_size=9)))
    days = [PlannedDay(date, draw(st.integers(0, 2))) for date in dates]
    kept = []
    if draw(st.booleans()):
        day = draw(st.sampled_from(days))
        kept = [SetAside(day.date, draw(st.integers(0, day.copies_needed)), draw(st.integers(0, 3)))]
    return Plan(
        target=0.9,
        prior=Beta(4, 1),
        log=UsageLog(3, 1, 1),
        on_set=draw(st.integers(0, 4)),
        arrivals=tuple(draw(st.lists(st.builds(Arrival, DATES, st.integers(0, 3), SOMETIMES), max_size=3))),
        days=tuple(days),
        dated=tuple(draw(st.lists(st.builds(DatedCopies, st.integers(0, 3), DATES), max_size=3))),
        runs=tuple(
            draw(st.lists(st.builds(RunDue, DATES, st.integers(0, 3), st.just(Beta(4, 1))), max_size=2))
        ),
        set_aside=tuple(kept),
    )


def _same_at_the_ends(
    whole: Sequence[float],
    dates: Sequence[datetime.date],
    blocks: Sequence[float],
    ends: Sequence[datetime.date],
) -> None:
    assert ends[-1] == dates[-1]
    by_date = dict(zip(dates, whole, strict=True))
    for end, chance in zip(ends, blocks, strict=True):
        assert chance == pytest.approx(by_date[end], abs=1e-7)


@given(plans())
def test_blocks_of_a_plan(plan: Plan) -> None:
    together = in_blocks(plan)
    assert together.needed == plan.needed
    whole, covered = chance_of_being_short(plan)
    blocks, covered_together = chance_of_being_short(together)
    _same_at_the_ends(whole, [day.date for day in plan.days], blocks, [day.date for day in together.days])
    assert covered_together == pytest.approx(covered, abs=1e-7)


def test_days_with_nothing_in_between_are_one_block() -> None:
    days = tuple(PlannedDay(MONDAY + datetime.timedelta(days=n), 1) for n in range(6))
    comes = Arrival(days[3].date, 2)
    plan = Plan(0.9, Beta(9, 1), UsageLog(0, 0), 5, (comes,), days)
    blocks = in_blocks(plan).days
    assert [(day.date, day.copies_needed) for day in blocks] == [(days[2].date, 3), (days[5].date, 3)]


MADE = st.lists(st.builds(Arrival, DATES, st.integers(1, 3)), max_size=4)


@given(plans(), st.integers(0, 20), MADE)
def test_copies_that_come_earlier_without_being_needed_change_nothing(
    plan: Plan, more: int, come: list[Arrival]
) -> None:
    plan = replace(plan, on_set=plan.on_set + more)
    moved = Earlier(plan).of(plan, come)
    assert moved.most_supplied == plan.most_supplied + sum(each.copies for each in come)
    whole, covered = chance_of_being_short(replace(plan, arrivals=(*plan.arrivals, *come)))
    earlier, covered_earlier = chance_of_being_short(moved)
    assert earlier == pytest.approx(whole, abs=1e-7)
    assert covered_earlier == pytest.approx(covered, abs=1e-7)


def test_copies_come_as_early_as_nobody_can_be_short_without_them() -> None:
    """Sixty copies are plenty for the first two days and not for the third, which asks for sixty."""
    needed = (1, 1, 60, 1)
    days = tuple(PlannedDay(MONDAY + datetime.timedelta(days=2 * n), k) for n, k in enumerate(needed))
    plan = Plan(0.9, Beta(9, 1), UsageLog(20, 1), 60, (), days)
    moved = Earlier(plan).of(
        plan, [Arrival(days[1].date, 5), Arrival(days[2].date, 5), Arrival(days[3].date, 5)]
    )
    assert [each.date for each in moved.arrivals] == [days[0].date, days[0].date, days[3].date]


GRADES = st.sampled_from(list(Grade))


@st.composite
def graded_plans(draw: st.DrawFn) -> GradedPlan:
    dates = sorted(draw(st.sets(DATES, min_size=1, max_size=8)))
    days = [GradedDay(date, draw(st.dictionaries(GRADES, st.integers(0, 2), max_size=2))) for date in dates]
    lots = st.builds(GradedCopies, GRADES, st.integers(0, 3), SOMETIMES, SOMETIMES)
    return GradedPlan(0.9, Beta(4, 1), UsageLog(3, 1), tuple(draw(st.lists(lots, max_size=5))), tuple(days))


@given(graded_plans())
def test_blocks_of_a_plan_with_grades(plan: GradedPlan) -> None:
    together = graded_in_blocks(plan)
    whole, covered = graded_chance_of_being_short(plan)
    blocks, covered_together = graded_chance_of_being_short(together)
    _same_at_the_ends(whole, [day.date for day in plan.days], blocks, [day.date for day in together.days])
    assert covered_together == pytest.approx(covered, abs=1e-7)


@given(graded_plans(), st.dictionaries(GRADES, st.integers(0, 20)), MADE)
def test_of_several_grades_too_copies_that_come_earlier_change_nothing(
    plan: GradedPlan, more: dict[Grade, int], come: list[Arrival]
) -> None:
    here = tuple(GradedCopies(grade, copies) for grade, copies in more.items())
    plan = replace(plan, supply=(*plan.supply, *here))
    made = tuple(GradedCopies(Grade.HERO, each.copies, each.date) for each in come)
    whole, covered = graded_chance_of_being_short(replace(plan, supply=(*plan.supply, *made)))
    earlier, covered_earlier = graded_chance_of_being_short(GradedEarlier(plan).of(plan, made))
    assert earlier == pytest.approx(whole, abs=1e-7)
    assert covered_earlier == pytest.approx(covered, abs=1e-7)
