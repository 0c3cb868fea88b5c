"""A copy more, or one that comes earlier, never raises the chance of having been short, on any day. All plans
are made up here."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.grades import GradedCopies, GradedDay, GradedPlan, work_out_graded_cover
from continuity.cover.plan import Arrival, DatedCopies, Plan, PlannedDay, RunDue, SetAside
from continuity.stock.grade import Grade

FIRST = datetime.date(2026, 3, 2)
DAYS = 4
ROUNDING = 1e-12


class Day(Protocol):
    @property
    def p_short_by(self) -> float: ...


def on(day: int) -> datetime.date:
    return FIRST + datetime.timedelta(days=day)


def never_worse(better: Sequence[Day], base: Sequence[Day]) -> bool:
    pairs = zip(better, base, strict=True)
    return all(one.p_short_by <= other.p_short_by + ROUNDING for one, other in pairs)


dates = st.integers(0, DAYS - 1).map(on)
use_by = st.none() | dates
priors = st.builds(Beta, st.integers(1, 6), st.integers(1, 3))
arrivals = st.builds(Arrival, dates, st.integers(1, 3), use_by)
runs = st.builds(RunDue, dates, st.integers(1, 3), st.just(Beta(4, 1)), st.just("mould"), use_by)


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """With shelf dates, copies set aside and runs not yet poured."""
    needed = draw(st.lists(st.integers(0, 3), min_size=1, max_size=DAYS))
    asides = [
        SetAside(on(day), draw(st.integers(0, copies)), draw(st.integers(0, 2)), draw(use_by))
        for day, copies in enumerate(needed)
        if draw(st.booleans())
    ]
    return Plan(
        target=0.9,
        prior=draw(priors),
        log=UsageLog(0, 0),
        on_set=draw(st.integers(0, 3)),
        arrivals=tuple(draw(st.lists(arrivals, min_size=1, max_size=3))),
        days=tuple(PlannedDay(on(day), copies) for day, copies in enumerate(needed)),
        dated=tuple(draw(st.lists(st.builds(DatedCopies, st.integers(1, 2), dates), max_size=2))),
        runs=tuple(draw(st.lists(runs, max_size=2))),
        set_aside=tuple(asides[:2]),
    )


@settings(max_examples=150)
@given(plans(), arrivals, st.integers(1, DAYS))
def test_arrivals_more_of_them_or_earlier(plan: Plan, extra: Arrival, by: int) -> None:
    base = work_out_cover(plan).days
    first, *others = plan.arrivals
    sooner = replace(first, date=first.date - datetime.timedelta(days=by))
    assert never_worse(work_out_cover(replace(plan, arrivals=(*plan.arrivals, extra))).days, base)
    assert never_worse(work_out_cover(replace(plan, arrivals=(sooner, *others))).days, base)


@settings(max_examples=80)
@given(plans(), runs, st.integers(1, DAYS))
def test_runs_more_of_them_or_earlier(plan: Plan, run: RunDue, by: int) -> None:
    base = replace(plan, runs=(*plan.runs, run))
    sooner = replace(run, date=run.date - datetime.timedelta(days=by))
    assert never_worse(work_out_cover(base).days, work_out_cover(plan).days)
    earlier = replace(plan, runs=(*plan.runs, sooner))
    assert never_worse(work_out_cover(earlier).days, work_out_cover(base).days)


def graded_supply(use_by: st.SearchStrategy[datetime.date | None]) -> st.SearchStrategy[GradedCopies]:
    return st.builds(GradedCopies, st.sampled_from(Grade), st.integers(1, 3), st.none() | dates, use_by)


@st.composite
def graded_plans(draw: st.DrawFn, use_by: st.SearchStrategy[datetime.date | None]) -> GradedPlan:
    needs = st.dictionaries(st.sampled_from(Grade), st.integers(0, 2))
    return GradedPlan(
        target=0.9,
        prior=draw(priors),
        log=UsageLog(0, 0),
        supply=tuple(draw(st.lists(graded_supply(use_by), max_size=3))),
        days=tuple(
            GradedDay(on(day), needed)
            for day, needed in enumerate(draw(st.lists(needs, min_size=1, max_size=DAYS)))
        ),
    )


def graded_short(plan: GradedPlan, *more: GradedCopies) -> Sequence[Day]:
    return work_out_graded_cover(replace(plan, supply=(*plan.supply, *more))).days


@settings(max_examples=150)
@given(graded_plans(use_by), graded_supply(use_by))
def test_of_several_grades_with_shelf_dates_more_copies(plan: GradedPlan, extra: GradedCopies) -> None:
    assert never_worse(graded_short(plan, extra), graded_short(plan))


@settings(max_examples=150)
@given(graded_plans(st.none()), graded_supply(st.none()))
def test_of_several_grades_copies_that_come_earlier(plan: GradedPlan, come: GradedCopies) -> None:
    assert never_worse(graded_short(plan, replace(come, date=None)), graded_short(plan, come))


@settings(max_examples=150)
@given(graded_plans(use_by), dates, st.integers(1, 3))
def test_of_several_grades_with_shelf_dates_hero_copies_without_one_that_come_earlier(
    plan: GradedPlan, date: datetime.date, copies: int
) -> None:
    """Of these an order is made; they are taken last of all."""
    come = GradedCopies(Grade.HERO, copies, date)
    assert never_worse(graded_short(plan, replace(come, date=None)), graded_short(plan, come))


def test_a_lower_grade_that_comes_earlier_may_let_a_higher_one_pass_its_date() -> None:
    """The one case that is otherwise: a look takes its own grade first, and the hero copy that could have
    gone on in its place is lost that night. The cover is that of the rule, not the best there could be."""
    hero = GradedCopies(Grade.HERO, 1, None, on(0))
    sure = GradedPlan(
        target=0.9,
        prior=Beta(10.0**9, 1),
        log=UsageLog(0, 0),
        supply=(hero,),
        days=(GradedDay(on(0), {Grade.BACKGROUND: 1}), GradedDay(on(1), {Grade.BACKGROUND: 1})),
    )
    late, early = (GradedCopies(Grade.BACKGROUND, 1, date) for date in (on(1), None))
    assert graded_short(sure, late)[-1].p_short_by < 1e-6
    assert graded_short(sure, early)[-1].p_short_by > 1 - 1e-6
