"""What a search for an order may leave out without finding another order. The plans are made up here."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.cover.calculation import certainly_short, chance_of_being_short, work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.grades import (
    GradedCopies,
    GradedDay,
    GradedPlan,
    graded_chance_of_being_short,
    work_out_graded_cover,
)
from continuity.cover.plan import Arrival, DatedCopies, Plan, PlannedDay, RunDue, SetAside
from continuity.cover.servable import part_that_can_be_served
from continuity.cover.shop import Mould, Shop
from continuity.stock.grade import Grade
from tests.cover.known_facts import TODAY, date

small = st.integers(0, 3)
ahead = st.integers(1, 8)


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    days = sorted(draw(st.sets(ahead, min_size=1, max_size=4)))
    planned = tuple(PlannedDay(date(day), draw(small)) for day in days)
    first = planned[0]
    set_aside = draw(st.booleans())
    return Plan(
        target=draw(st.sampled_from([0.6, 0.9, 0.98])),
        prior=Beta(draw(st.sampled_from([1.5, 9.0])), 1.0),
        log=UsageLog(0, draw(small)),
        on_set=draw(small),
        arrivals=(Arrival(date(draw(ahead)), draw(small)),),
        days=planned,
        dated=(DatedCopies(draw(small), date(draw(ahead))),),
        runs=(RunDue(date(draw(ahead)), draw(small), Beta(4, 1)),) if draw(st.booleans()) else (),
        set_aside=(SetAside(first.date, first.copies_needed, draw(small)),) if set_aside else (),
    )


@settings(max_examples=150)
@given(plan=plans(), stop_above=st.sampled_from([0.02, 0.1, 0.4]))
def test_stopping_early_says_the_same_of_whether_the_target_is_met(plan: Plan, stop_above: float) -> None:
    whole, _ = chance_of_being_short(plan)
    stopped, _ = chance_of_being_short(plan, stop_above)
    assert (whole[-1] <= stop_above) == (stopped[-1] <= stop_above)
    for chance, found in zip(whole, stopped, strict=True):
        if chance <= stop_above:
            assert found == chance


@settings(max_examples=150)
@given(plan=plans())
def test_what_is_called_certain_is(plan: Plan) -> None:
    if certainly_short(plan):
        assert work_out_cover(plan).p_covered == 0
    elif not (plan.runs or plan.set_aside or any(lot.copies for lot in plan.dated)):
        assert work_out_cover(plan).p_covered > 0


def test_grades_stop_early_too() -> None:
    days = tuple(GradedDay(date(day), {Grade.HERO: 1, Grade.BACKGROUND: 1}) for day in (1, 3, 5))
    supply = (GradedCopies(Grade.HERO, 4), GradedCopies(Grade.BACKGROUND, 2))
    plan = GradedPlan(0.98, Beta(9, 1), UsageLog(0, 0), supply, days)
    cover = work_out_graded_cover(plan)
    short, p_covered = graded_chance_of_being_short(plan)
    assert short == pytest.approx([day.p_short_by for day in cover.days], rel=1e-12)
    assert p_covered == pytest.approx(cover.p_covered, rel=1e-12)
    assert short[0] < short[1] < short[2]
    stopped, _ = graded_chance_of_being_short(plan, (short[0] + short[1]) / 2)
    assert stopped == [short[0], short[1], short[1]]


SHOP = Shop(Mould(cavities=1, cycles_per_day=1, good=40, poured=42), TODAY, transport_days=1)


def _plan(*needs: tuple[int, int], on_set: int = 0) -> Plan:
    days = tuple(PlannedDay(date(day), copies) for day, copies in needs)
    return Plan(0.9, Beta(9, 1), UsageLog(20, 1), on_set, (), days)


def test_all_of_a_plan_that_can_be_served_stays() -> None:
    plan = _plan((20, 2), (21, 1))
    assert part_that_can_be_served(plan, SHOP) == plan
    assert part_that_can_be_served(_plan(), SHOP) == _plan()


def test_what_nobody_can_serve_is_left_out_and_no_more() -> None:
    """Tomorrow five are wanted and two can be there, of which one may be spoiled; later there is time.
    With two days on the road nothing can be there tomorrow."""
    part = part_that_can_be_served(_plan((1, 5), (21, 2), on_set=1), SHOP)
    assert [day.copies_needed for day in part.days] == [1, 2]
    nothing = part_that_can_be_served(_plan((1, 5), (21, 2)), replace(SHOP, transport_days=2))
    assert [day.copies_needed for day in nothing.days] == [0, 2]


def test_what_is_set_aside_for_it_is_no_more_than_what_is_left_of_the_day() -> None:
    plan = replace(_plan((1, 5), (21, 2)), set_aside=(SetAside(date(1), 4, 1),))
    part = part_that_can_be_served(plan, SHOP)
    assert part.set_aside[0].copies_needed <= part.days[0].copies_needed <= 1
    assert part.days[1].copies_needed == 2


@pytest.mark.parametrize("on_set", [0, 1, 2, 6])
def test_the_part_can_be_brought_to_the_target(on_set: int) -> None:
    part = part_that_can_be_served(_plan((1, 2), (2, 2), (4, 3), (30, 2), on_set=on_set), SHOP)
    helped = replace(part, arrivals=tuple(Arrival(date(day), 1) for day in range(1, 30)))
    assert work_out_cover(helped).p_covered >= 0.9


def test_of_several_grades_the_look_that_cannot_be_served_is_left_out() -> None:
    """On the first day there is one copy of background grade, of which one may be spoiled: none of the looks
    that ask for hero can be served, and of the two that ask for background one."""
    days = (
        GradedDay(date(1), {Grade.HERO: 1, Grade.BACKGROUND: 2}),
        GradedDay(date(30), {Grade.HERO: 1, Grade.BACKGROUND: 1}),
    )
    supply = (GradedCopies(Grade.BACKGROUND, 1),)
    plan = GradedPlan(0.9, Beta(9, 1), UsageLog(20, 1), supply, days)
    part = part_that_can_be_served(plan, replace(SHOP, transport_days=2))
    assert isinstance(part, GradedPlan)
    assert part.days[0].copies_needed == {Grade.HERO: 0, Grade.BACKGROUND: 1}
    assert part.days[1] == days[1]
    # With hero copies enough for all but one of that day, one background look is left out.
    enough = replace(plan, supply=(GradedCopies(Grade.HERO, 3), GradedCopies(Grade.BACKGROUND, 0)))
    part = part_that_can_be_served(enough, replace(SHOP, transport_days=2))
    assert isinstance(part, GradedPlan)
    assert part.days[0].copies_needed == {Grade.HERO: 1, Grade.BACKGROUND: 1}
    served = replace(plan, supply=(GradedCopies(Grade.HERO, 30),))
    assert part_that_can_be_served(served, SHOP) == served
