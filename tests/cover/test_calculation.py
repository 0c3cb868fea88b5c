"""The cover of one appliance. All plans are made up here and worked out again in fractions (exact.py)."""

from __future__ import annotations

import datetime
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from continuity.cover.benchmark import example_plan, time_of_cover
from continuity.cover.calculation import Cover, supply_by_day, work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.plan import Arrival, InvalidPlan, Plan, PlannedDay
from tests.cover import exact

FIRST = datetime.date(2026, 3, 2)


def on(day: int) -> datetime.date:
    return FIRST + datetime.timedelta(days=day)


def plan_of(
    needed: list[int],
    *,
    on_set: int,
    arrivals: tuple[tuple[int, int], ...] = (),
    prior: tuple[float, float] = (9, 1),
    log: tuple[int, int] = (0, 0),
    target: float = 0.98,
) -> Plan:
    """Day 0, 1, 2 ... need so many; arrivals are (day, copies)."""
    return Plan(
        target=target,
        prior=Beta(*prior),
        log=UsageLog(*log),
        on_set=on_set,
        arrivals=tuple(Arrival(on(day), copies) for day, copies in arrivals),
        days=tuple(PlannedDay(on(day), copies) for day, copies in enumerate(needed)),
    )


def short_by(cover: Cover) -> list[float]:
    return [day.p_short_by for day in cover.days]


small_plans = st.tuples(
    st.integers(1, 6),
    st.integers(1, 6),
    st.lists(st.integers(0, 3), min_size=1, max_size=4),
    st.integers(0, 6),
    st.lists(st.tuples(st.integers(-1, 5), st.integers(0, 3)), max_size=3),
)


@settings(max_examples=200)
@given(small_plans)
def test_small_plans_agree_with_every_outcome_written_out(
    case: tuple[int, int, list[int], int, list[tuple[int, int]]],
) -> None:
    a, b, needed, on_set, arrivals = case
    plan = plan_of(needed, on_set=on_set, arrivals=tuple(arrivals), prior=(a, b))
    supply = [on_set + sum(copies for at, copies in arrivals if at <= day) for day in range(len(needed))]
    assert supply_by_day(plan) == supply

    first_short = [Fraction(0)] * len(needed)
    never = Fraction(0)
    for chance, day in exact.outcomes(a, b, supply, needed):
        if day is None:
            never += chance
        else:
            first_short[day] += chance
    assert never + sum(first_short) == 1

    cover = work_out_cover(plan)
    by_day = [float(sum(first_short[: day + 1])) for day in range(len(needed))]
    assert short_by(cover) == pytest.approx(by_day, rel=1e-12, abs=0)
    assert cover.p_covered == pytest.approx(float(never), rel=1e-12, abs=0)
    risky = [day for day in range(len(needed)) if sum(first_short[: day + 1]) > Fraction(2, 100)]
    assert cover.first_day_at_risk == (on(risky[0]) if risky else None)


@pytest.mark.parametrize(
    ("a", "b", "on_set", "arrivals", "needed"),
    [
        (90, 2, 30, (), [2] * 10),
        (400, 3, 26, ((3, 4),), [4, 0, 3, 3, 6, 0, 5]),
        (9, 1, 14, ((2, 10), (9, 12)), [2, 2, 2, 3, 1, 0, 2, 2, 2, 3]),
        (3, 7, 12, ((5, 60),), [1] * 12),
    ],
)
def test_middling_plans_keep_their_digits_however_small_the_risk(
    a: int, b: int, on_set: int, arrivals: tuple[tuple[int, int], ...], needed: list[int]
) -> None:
    plan = plan_of(needed, on_set=on_set, arrivals=arrivals, prior=(a, b))
    expected = exact.short_by_day(a, b, supply_by_day(plan), needed)
    cover = work_out_cover(plan)
    assert short_by(cover) == pytest.approx([float(p) for p in expected], rel=1e-11, abs=0)
    assert cover.p_covered == pytest.approx(float(1 - expected[-1]), rel=1e-11, abs=0)


def test_the_chance_of_being_short_is_told_down_to_one_in_ten_thousand_million() -> None:
    plan = plan_of([2] * 10, on_set=36, prior=(90, 2))
    expected = exact.short_by_day(90, 2, [36] * 10, [2] * 10)[-1]
    assert Fraction(1, 10**12) < expected < Fraction(1, 10**9)
    assert work_out_cover(plan).days[-1].p_short_by == pytest.approx(float(expected), rel=1e-11, abs=0)


def test_one_day_is_the_tail_of_the_beta_negative_binomial() -> None:
    # scipy.stats.betanbinom counts the spoiled copies: more than 9 - 6 of them and the day is short.
    cover = work_out_cover(plan_of([6], on_set=9, prior=(9, 1), log=(21, 2)))
    assert cover.days[0].p_short_by == pytest.approx(stats.betanbinom(6, 30, 3).sf(3), rel=1e-9)


def test_days_share_one_success_rate() -> None:
    # One good copy a day for two days from two copies: both must be good. With a flat prior that is
    # 1/2 x 2/3 = 1/3, not 1/2 x 1/2: the first good copy speaks for the second.
    cover = work_out_cover(plan_of([1, 1], on_set=2, prior=(1, 1)))
    assert cover.p_covered == pytest.approx(1 / 3, rel=1e-14)


def test_left_is_supply_less_copies_used_without_conditions() -> None:
    cover = work_out_cover(plan_of([3, 2], on_set=4, arrivals=((1, 2),), prior=(18.5, 3.5)))
    # Made up here; the mean is k (1 + b / (a - 1)) = k x 1.2, the quantiles are scipy.stats.betanbinom's.
    assert [day.expected_left for day in cover.days] == pytest.approx([4 - 3.6, 6 - 6.0])
    for day, (good, there) in zip(cover.days, ((3, 4), (5, 6)), strict=True):
        used = stats.betanbinom(good, 18.5, 3.5)
        assert day.left_p10 == there - good - used.ppf(0.9)
        assert day.left_p90 == there - good - used.ppf(0.1)


def test_negative_left_means_copies_owed() -> None:
    cover = work_out_cover(plan_of([5], on_set=2))
    assert cover.days[0].left_p90 == -3
    assert cover.days[0].p_short_by == 1
    assert cover.p_covered == 0
    assert cover.first_day_at_risk == FIRST


def test_a_day_once_short_stays_short_when_copies_come_later() -> None:
    cover = work_out_cover(plan_of([2, 1, 0], on_set=1, arrivals=((1, 50),)))
    assert short_by(cover) == [1, 1, 1]
    # Yet the count of what is left is not conditioned on it.
    assert cover.days[1].expected_left is not None
    assert cover.days[1].expected_left > 40


def test_arrivals_count_on_the_day_they_are_dated_between_days_before_and_after() -> None:
    days = (PlannedDay(on(0), 1), PlannedDay(on(3), 1), PlannedDay(on(7), 1))
    plan = replace(plan_of([], on_set=1), days=days)

    def supply(*arrivals: tuple[int, int]) -> list[int]:
        return supply_by_day(replace(plan, arrivals=tuple(Arrival(on(day), n) for day, n in arrivals)))

    assert supply() == [1, 1, 1]
    assert supply((-9, 2)) == [3, 3, 3]
    assert supply((0, 2)) == [3, 3, 3]
    assert supply((1, 2)) == [1, 3, 3]
    assert supply((3, 2)) == [1, 3, 3]
    assert supply((7, 2)) == [1, 1, 3]
    assert supply((8, 2)) == [1, 1, 1]
    assert supply((7, 4), (3, 2), (3, 1)) == [1, 4, 8]


def test_an_infinite_mean_is_left_out_and_the_quantiles_stay() -> None:
    cover = work_out_cover(plan_of([0, 1, 1], on_set=5, prior=(0.5, 0.5)))
    assert [day.expected_left for day in cover.days] == [5, None, None]
    assert cover.days[1].left_p90 == 4
    assert cover.days[1].left_p10 is not None


def test_days_that_need_nothing_carry_no_risk_of_their_own() -> None:
    with_rest = work_out_cover(plan_of([0, 2, 0, 0, 3, 0], on_set=6))
    without = work_out_cover(plan_of([2, 3], on_set=6))
    assert short_by(with_rest)[0] == 0
    assert short_by(with_rest)[1] == short_by(with_rest)[2] == short_by(with_rest)[3]
    assert with_rest.p_covered == without.p_covered


def test_no_supply() -> None:
    assert work_out_cover(plan_of([0, 0], on_set=0)).p_covered == 1
    cover = work_out_cover(plan_of([0, 1], on_set=0))
    assert short_by(cover) == [0, 1]
    assert cover.first_day_at_risk == on(1)


def test_a_plan_without_days_is_covered() -> None:
    assert work_out_cover(plan_of([], on_set=7)) == Cover((), 1.0, None, 7)


def test_a_day_that_meets_the_target_exactly_is_not_at_risk() -> None:
    # One good copy out of nine under a flat prior fails with probability exactly 1/10.
    plan = plan_of([1], on_set=9, prior=(1, 1))
    assert work_out_cover(plan).days[0].p_short_by == pytest.approx(0.1, rel=1e-14)
    assert work_out_cover(replace(plan, target=0.9)).first_day_at_risk is None
    assert work_out_cover(replace(plan, target=0.900001)).first_day_at_risk == FIRST


def test_spares_now_are_the_usable_copies_on_set_and_not_those_to_arrive() -> None:
    assert work_out_cover(plan_of([2, 5], on_set=6, arrivals=((0, 9),))).spares_now == 6
    assert work_out_cover(plan_of([], on_set=6)).spares_now == 6


@settings(max_examples=60)
@given(
    st.lists(st.integers(0, 4), min_size=1, max_size=12),
    st.integers(0, 40),
    st.integers(0, 60),
    st.integers(0, 12),
)
def test_more_copies_or_a_better_log_never_hurt_and_risk_never_falls_over_the_days(
    needed: list[int], on_set: int, good: int, spoiled: int
) -> None:
    plan = plan_of(needed, on_set=on_set, log=(good, spoiled))
    cover = work_out_cover(plan)
    risk = short_by(cover)
    assert risk == sorted(risk)
    assert all(0 <= p <= 1 for p in risk)
    assert cover.p_covered == pytest.approx(1 - risk[-1], abs=1e-13)

    more = work_out_cover(replace(plan, on_set=on_set + 1))
    better = work_out_cover(replace(plan, log=UsageLog(good + 1, spoiled)))
    worse = work_out_cover(replace(plan, log=UsageLog(good, spoiled + 1)))
    for day, with_more, with_better, with_worse in zip(
        cover.days, more.days, better.days, worse.days, strict=True
    ):
        slack = 1e-12
        assert with_more.p_short_by <= day.p_short_by + slack
        assert with_better.p_short_by <= day.p_short_by + slack
        assert with_worse.p_short_by >= day.p_short_by - slack
        assert day.expected_left is not None
        assert day.left_p10 is not None
        assert day.left_p90 is not None
        assert with_more.left_p10 == day.left_p10 + 1
        assert with_more.expected_left == pytest.approx(day.expected_left + 1)
        assert day.left_p10 <= day.left_p90


def test_a_long_plan_with_many_copies_stays_a_probability() -> None:
    cover = work_out_cover(plan_of([100] * 150, on_set=17_000, log=(900, 80)))
    assert 0 < cover.p_covered < 1
    assert cover.p_covered == pytest.approx(1 - short_by(cover)[-1], abs=1e-12)
    # On the last day alone (nothing arrives before) it is the beta-negative-binomial tail.
    tail = stats.betanbinom(15_000, 909, 81).sf(2_000)
    assert short_by(cover)[-1] == pytest.approx(tail, rel=1e-6)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"target": 1.0}, "target"),
        ({"target": float("nan")}, "target"),
        ({"on_set": -1}, "on_set"),
        ({"on_set": 20_001}, "on_set"),
        ({"arrivals": (Arrival(on(0), 1), Arrival(on(0), -1))}, "arrivals[1].copies"),
        ({"arrivals": (Arrival(on(0), 19_999),)}, "arrivals"),
        ({"days": (PlannedDay(on(0), -1),)}, "days[0].copies_needed"),
        ({"days": (PlannedDay(on(1), 1), PlannedDay(on(1), 1))}, "days[1].date"),
        ({"days": (PlannedDay(on(1), 1), PlannedDay(on(0), 1))}, "days[1].date"),
        ({"days": (PlannedDay(on(1), 20_001),)}, "days"),
    ],
)
def test_a_plan_that_breaks_its_rules_is_refused_by_field(change: dict[str, object], field: str) -> None:
    plan = replace(plan_of([1], on_set=2), **change)  # type: ignore[arg-type]
    with pytest.raises(InvalidPlan) as refused:
        work_out_cover(plan)
    assert refused.value.field == field
    assert str(refused.value).startswith(f"{field} ")


def test_the_benchmark_measures_a_plan_of_the_size_it_says() -> None:
    plan = example_plan(60, 120)
    assert len(plan.days) == 60
    assert sum(day.copies_needed for day in plan.days) == 108
    assert plan.on_set + sum(arrival.copies for arrival in plan.arrivals) == 120
    assert 0 < work_out_cover(plan).p_covered < 1
    assert time_of_cover(days=5, copies=10, repeats=1) > 0
