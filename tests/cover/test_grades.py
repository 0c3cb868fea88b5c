"""Copies of several grades served together. All plans are made up here, and worked out again copy by copy in
fractions (copy_by_copy.py)."""

from __future__ import annotations

import datetime
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.cover import walk
from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.grades import GradedCopies, GradedDay, GradedPlan, work_out_graded_cover
from continuity.cover.plan import Arrival, InvalidPlan, Plan, PlannedDay
from continuity.stock.grade import Grade
from tests.cover.copy_by_copy import NEVER, Lot, Need, first_short

FIRST = datetime.date(2026, 3, 2)
RANK = {Grade.BACKGROUND: 0, Grade.MID: 1, Grade.HERO: 2}
GRADES = list(RANK)


def on(day: int) -> datetime.date:
    return FIRST + datetime.timedelta(days=day)


def plan_of(
    supply: list[tuple[Grade, Lot]], days: list[dict[Grade, int]], prior: tuple[float, float] = (3, 1)
) -> GradedPlan:
    return GradedPlan(
        target=0.9,
        prior=Beta(*prior),
        log=UsageLog(0, 0),
        supply=tuple(
            GradedCopies(
                grade,
                lot.copies,
                None if lot.come < 0 else on(lot.come),
                None if lot.use_by == NEVER else on(lot.use_by),
            )
            for grade, lot in supply
        ),
        days=tuple(GradedDay(on(day), needed) for day, needed in enumerate(days)),
    )


supplies = st.lists(
    st.tuples(
        st.sampled_from(GRADES),
        st.builds(
            Lot,
            copies=st.integers(0, 3),
            come=st.integers(-1, 2),
            use_by=st.one_of(st.just(NEVER), st.integers(0, 3)),
        ),
    ),
    max_size=4,
).filter(lambda supply: sum(lot.copies for _, lot in supply) <= 8)
needs = st.lists(st.dictionaries(st.sampled_from(GRADES), st.integers(0, 2)), min_size=1, max_size=3)


@settings(max_examples=200)
@given(st.integers(1, 5), st.integers(1, 3), supplies, needs)
def test_small_plans_agree_with_every_outcome_written_out(
    a: int, b: int, supply: list[tuple[Grade, Lot]], days: list[dict[Grade, int]]
) -> None:
    order = [
        Need(day, needed.get(grade, 0), RANK[grade])
        for day, needed in enumerate(days)
        for grade in reversed(GRADES)
    ]
    lots = [replace(lot, grade=RANK[grade]) for grade, lot in supply]
    by_day = [Fraction(0)] * len(days)
    by_grade = dict.fromkeys(GRADES, Fraction(0))
    for at, chance in first_short(a, b, lots, order).items():
        if at is not None:
            by_day[order[at].day] += chance
            by_grade[GRADES[order[at].grade]] += chance
    cover = work_out_graded_cover(plan_of(supply, days, (a, b)))
    expected = [float(sum(by_day[: day + 1])) for day in range(len(days))]
    assert [day.p_short_by for day in cover.days] == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert cover.p_covered == pytest.approx(1 - expected[-1], rel=1e-9, abs=1e-12)
    assert cover.exact
    for grade, chance in by_grade.items():
        found = cover.days[-1].p_short_by_grade.get(grade, 0)
        assert found == pytest.approx(float(chance), rel=1e-9, abs=1e-12)


def test_one_grade_is_the_plain_cover() -> None:
    needed = [2, 0, 3, 1]
    graded = work_out_graded_cover(
        plan_of([(Grade.MID, Lot(5)), (Grade.MID, Lot(3, 2))], [{Grade.MID: copies} for copies in needed])
    )
    plain = Plan(
        target=0.9,
        prior=Beta(3, 1),
        log=UsageLog(0, 0),
        on_set=5,
        arrivals=(Arrival(on(2), 3),),
        days=tuple(PlannedDay(on(day), copies) for day, copies in enumerate(needed)),
    )
    cover = work_out_cover(plain)
    assert graded.p_covered == pytest.approx(cover.p_covered, rel=1e-12)
    for day, plain_day in zip(graded.days, cover.days, strict=True):
        assert day.p_short_by == pytest.approx(plain_day.p_short_by, rel=1e-12)
        assert (day.expected_left, day.left_p10) == (plain_day.expected_left, plain_day.left_p10)


def test_a_hero_copy_may_stand_in_and_is_then_missing() -> None:
    sure = (10.0**9, 1.0)
    supply = [(Grade.HERO, Lot(2)), (Grade.BACKGROUND, Lot(1))]

    def p_covered(*days: dict[Grade, int]) -> float:
        return work_out_graded_cover(plan_of(supply, list(days), sure)).p_covered

    assert p_covered({Grade.BACKGROUND: 3}) == pytest.approx(1, abs=1e-7)
    assert p_covered({Grade.BACKGROUND: 1}, {Grade.HERO: 2}) == pytest.approx(1, abs=1e-7)
    assert p_covered({Grade.BACKGROUND: 2}, {Grade.HERO: 2}) == pytest.approx(0, abs=1e-7)
    assert p_covered({Grade.HERO: 3}) == 0


def test_grades_apart_would_say_too_much() -> None:
    # One hero spare that both sides count on is not two.
    supply = [(Grade.HERO, Lot(3)), (Grade.BACKGROUND, Lot(2))]
    both = work_out_graded_cover(plan_of(supply, [{Grade.HERO: 2, Grade.BACKGROUND: 2}])).p_covered
    hero = work_out_graded_cover(plan_of(supply, [{Grade.HERO: 2}])).p_covered
    background = work_out_graded_cover(plan_of(supply, [{Grade.BACKGROUND: 2}])).p_covered
    assert both < min(hero, background)


def test_a_table_without_room_gives_a_lower_bound_and_says_how_low(monkeypatch: pytest.MonkeyPatch) -> None:
    supply = [(Grade.HERO, Lot(12)), (Grade.BACKGROUND, Lot(20))]
    plan = plan_of(supply, [{Grade.HERO: 1, Grade.BACKGROUND: 2}] * 8, (9, 1))
    exact = work_out_graded_cover(plan)
    monkeypatch.setattr(walk, "MOST_CELLS", 33 * 4)
    bound = work_out_graded_cover(plan)
    assert exact.exact
    assert not bound.exact
    assert bound.p_covered < exact.p_covered <= bound.p_covered + bound.left_out


@settings(max_examples=60)
@given(supplies.filter(bool), needs, st.sampled_from(GRADES))
def test_a_copy_more_never_lowers_the_cover_and_a_look_more_never_raises_it(
    supply: list[tuple[Grade, Lot]], days: list[dict[Grade, int]], grade: Grade
) -> None:
    # Without shelf dates, where the rule of serving is the best there is.
    supply = [(each, replace(lot, use_by=NEVER)) for each, lot in supply]
    base = work_out_graded_cover(plan_of(supply, days)).p_covered
    more = work_out_graded_cover(plan_of([*supply, (grade, Lot(1))], days)).p_covered
    assert more >= base - 1e-12
    asked = [*days[:-1], days[-1] | {grade: days[-1].get(grade, 0) + 1}]
    assert work_out_graded_cover(plan_of(supply, asked)).p_covered <= base + 1e-12


def test_what_breaks_the_rules_is_refused_by_field() -> None:
    for plan, field in (
        (plan_of([(Grade.HERO, Lot(-1))], [{}]), "supply[0].copies"),
        (plan_of([(Grade.HERO, Lot(1_001))], [{}]), "supply"),
        (plan_of([], [{Grade.HERO: -1}]), "days[0].copies_needed"),
        (plan_of([], [{Grade.HERO: 1_001}]), "days"),
    ):
        with pytest.raises(InvalidPlan) as refused:
            work_out_graded_cover(plan)
        assert refused.value.field == field
