"""Plans whose copies are not all alike: shelf dates, runs not yet poured, copies set aside. All plans are
made up here, and worked out again copy by copy in fractions (copy_by_copy.py).
"""

from __future__ import annotations

import datetime
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from continuity.cover.benchmark import example_plan
from continuity.cover.calculation import chance_of_being_short, work_out_cover
from continuity.cover.consumption import Beta, UsageLog, mean_copies_used, posterior
from continuity.cover.on_hand import first_short_on_hand, left_on_hand
from continuity.cover.plan import Arrival, DatedCopies, InvalidPlan, Plan, PlannedDay, RunDue, SetAside
from tests.cover.copy_by_copy import NEVER, Lot, Need, Uncertain, first_short, left_after, supplies

FIRST = datetime.date(2026, 3, 2)


def on(day: int) -> datetime.date:
    return FIRST + datetime.timedelta(days=day)


def until(day: int) -> datetime.date | None:
    return None if day == NEVER else on(day)


def plan_of(
    needed: list[int],
    lots: list[Lot],
    runs: list[Uncertain] | None = None,
    asides: list[SetAside] | None = None,
    prior: tuple[float, float] = (3, 1),
) -> Plan:
    """Day 0, 1, 2 ... need so many; a lot that comes on day -1 is on set."""
    return Plan(
        target=0.9,
        prior=Beta(*prior),
        log=UsageLog(0, 0),
        on_set=sum(lot.copies for lot in lots if lot.come < 0 and lot.use_by == NEVER),
        dated=tuple(
            DatedCopies(lot.copies, on(lot.use_by)) for lot in lots if lot.come < 0 and lot.use_by < NEVER
        ),
        arrivals=tuple(Arrival(on(lot.come), lot.copies, until(lot.use_by)) for lot in lots if lot.come >= 0),
        days=tuple(PlannedDay(on(day), copies) for day, copies in enumerate(needed)),
        runs=tuple(
            RunDue(on(run.come), run.poured, Beta(run.a, run.b), "mould", until(run.use_by))
            for run in runs or []
        ),
        set_aside=tuple(asides or []),
    )


def expected_short(
    a: int, b: int, plan: Plan, lots: list[Lot], runs: list[Uncertain], needs: list[Need]
) -> list[float]:
    """Probability of having been short by each day, from every outcome written out."""
    by_day = [Fraction(0)] * len(plan.days)
    for chance, whole in supplies(lots, runs):
        for at, short in first_short(a, b, whole, needs).items():
            if at is not None:
                by_day[needs[at].day] += chance * short
    return [float(sum(by_day[: day + 1])) for day in range(len(by_day))]


lots = st.lists(
    st.builds(
        Lot,
        copies=st.integers(0, 3),
        come=st.integers(-1, 3),
        use_by=st.one_of(st.integers(-1, 4), st.just(NEVER)),
    ),
    max_size=4,
).filter(lambda lots: sum(lot.copies for lot in lots) <= 8)
needs = st.lists(st.integers(0, 2), min_size=1, max_size=4)


@settings(max_examples=250)
@given(st.integers(1, 5), st.integers(1, 4), lots, needs)
def test_small_plans_with_shelf_dates_agree_with_every_outcome_written_out(
    a: int, b: int, lots: list[Lot], needed: list[int]
) -> None:
    plan = plan_of(needed, lots, prior=(a, b))
    expected = expected_short(a, b, plan, lots, [], [Need(day, copies) for day, copies in enumerate(needed)])
    cover = work_out_cover(plan)
    assert [day.p_short_by for day in cover.days] == pytest.approx(expected, rel=1e-12, abs=0)
    assert cover.p_covered == pytest.approx(1 - expected[-1], rel=1e-11, abs=1e-15)
    assert cover.left_out == 0


@settings(max_examples=60)
@given(
    st.integers(1, 5),
    st.integers(1, 4),
    lots.filter(lambda lots: sum(lot.copies for lot in lots) <= 5),
    st.lists(
        st.builds(
            Uncertain,
            poured=st.integers(0, 2),
            come=st.integers(0, 3),
            a=st.just(4),
            b=st.just(2),
            use_by=st.one_of(st.integers(1, 4), st.just(NEVER)),
        ),
        min_size=1,
        max_size=3,
    ),
    needs,
)
def test_small_plans_with_runs_not_yet_poured_agree_with_every_outcome_written_out(
    a: int, b: int, lots: list[Lot], runs: list[Uncertain], needed: list[int]
) -> None:
    plan = plan_of(needed, lots, runs, prior=(a, b))
    expected = expected_short(
        a, b, plan, lots, runs, [Need(day, copies) for day, copies in enumerate(needed)]
    )
    cover = work_out_cover(plan)
    assert [day.p_short_by for day in cover.days] == pytest.approx(expected, rel=1e-12, abs=0)


@settings(max_examples=100)
@given(
    st.integers(1, 5),
    st.integers(1, 4),
    lots.filter(lambda lots: sum(lot.copies for lot in lots) <= 5),
    st.lists(st.integers(0, 2), min_size=2, max_size=3),
    st.lists(
        st.tuples(st.integers(0, 1), st.integers(0, 2), st.integers(0, 3), st.integers(0, 3)), max_size=2
    ),
)
def test_small_plans_with_copies_set_aside_agree_with_every_outcome_written_out(
    a: int, b: int, lots: list[Lot], needed: list[int], scenes: list[tuple[int, int, int, int]]
) -> None:
    # Each scene: its day, the copies it asks for, those set aside for it, and their last day.
    asked = [sum(copies for day, copies, _, _ in scenes if day == at) for at in range(len(needed))]
    whole = [need + more for need, more in zip(needed, asked, strict=True)]
    asides = [SetAside(on(day), copies, kept, on(use_by)) for day, copies, kept, use_by in scenes]
    plan = plan_of(whole, lots, asides=asides, prior=(a, b))
    kept_lots = [Lot(kept, -1, use_by, scene=i) for i, (_, _, kept, use_by) in enumerate(scenes)]
    order = []
    for at, need in enumerate(needed):
        order.append(Need(at, need))
        order += [Need(at, copies, scene=i) for i, (day, copies, _, _) in enumerate(scenes) if day == at]
    expected = expected_short(a, b, plan, [*lots, *kept_lots], [], order)
    cover = work_out_cover(plan)
    assert [day.p_short_by for day in cover.days] == pytest.approx(expected, rel=1e-12, abs=0)


@settings(max_examples=60)
@given(
    st.integers(3, 7),
    st.integers(1, 2),
    lots.filter(lambda lots: sum(lot.copies for lot in lots) <= 5),
    st.lists(st.integers(0, 2), min_size=1, max_size=3),
)
def test_what_is_left_agrees_with_every_outcome_written_out(
    a: int, b: int, lots: list[Lot], needed: list[int]
) -> None:
    plan = plan_of(needed, lots, prior=(a, b))
    supply = sum(lot.copies for lot in lots)
    masses = left_after(a, b, lots, needed, supply + 4)
    cover = work_out_cover(plan)
    for day, (mass, expired) in enumerate(masses):
        come = sum(
            lot.copies for lot in lots if any(lot.come <= shoot <= lot.use_by for shoot in range(day + 1))
        )
        used = mean_copies_used(Beta(a, b), sum(needed[: day + 1]))
        assert used is not None
        # Copies that have come on a shoot day, less those used, less those that expired unused.
        assert cover.days[day].expected_left == pytest.approx(come - used - float(expired), abs=1e-10)
        followed = sum(mass.values(), Fraction(0))
        levels = ((Fraction(9, 10), cover.days[day].left_p10), (Fraction(1, 10), cover.days[day].left_p90))
        for level, found in levels:
            if found is None or level > followed - Fraction(1, 100):
                continue
            at_least = sum((chance for left, chance in mass.items() if left >= found), Fraction(0))
            more = sum((chance for left, chance in mass.items() if left > found), Fraction(0))
            assert at_least >= level > more


def test_a_plan_of_copies_all_alike_comes_out_the_same_on_either_road() -> None:
    plan = example_plan(60, 100)
    belief = posterior(plan.prior, plan.log)
    cover = work_out_cover(plan)
    short, p_covered, left_out = first_short_on_hand(belief, plan)
    assert short == pytest.approx([day.p_short_by for day in cover.days], rel=1e-11, abs=0)
    assert p_covered == pytest.approx(cover.p_covered, rel=1e-12)
    assert left_out == 0
    for (mean, low, high), day in zip(left_on_hand(belief, plan, (0.9, 0.1)), cover.days, strict=True):
        assert mean == pytest.approx(day.expected_left)
        assert (low, high) == (day.left_p10, day.left_p90)


def test_a_copy_may_be_used_on_its_shelf_date_and_not_after() -> None:
    def p_covered(use_by: int) -> float:
        plan = plan_of([0, 0, 1], [Lot(1, -1, use_by)], prior=(1, 1))
        return work_out_cover(plan).p_covered

    assert p_covered(1) == 0
    assert p_covered(2) == pytest.approx(0.5)
    assert p_covered(3) == pytest.approx(0.5)


def test_first_expired_is_first_used() -> None:
    # One good copy a day. The dated copy goes on the first day, so the other is there on the second.
    plan = plan_of([1, 1], [Lot(1, -1, 0), Lot(1)], prior=(10**9, 1))
    cover = work_out_cover(plan)
    assert cover.p_covered == pytest.approx(1, abs=1e-8)
    assert cover.spares_now == 2


def test_what_expires_unused_is_left_no_more() -> None:
    cover = work_out_cover(plan_of([1, 0, 0], [Lot(5, -1, 0), Lot(2)], prior=(10**9, 1)))
    assert [day.expected_left for day in cover.days] == pytest.approx([6, 2, 2], abs=1e-6)
    assert [(day.left_p10, day.left_p90) for day in cover.days] == [(6, 6), (2, 2), (2, 2)]


def test_shelf_dates_that_are_not_reached_change_nothing() -> None:
    plain = plan_of([2, 2, 1], [Lot(6)])
    dated = plan_of([2, 2, 1], [Lot(2, -1, 2), Lot(4, -1, 9)])
    assert work_out_cover(dated) == work_out_cover(plain)


def test_the_usable_copies_of_one_run_are_beta_binomial() -> None:
    # One good copy wanted from a run of four, and every usable copy goes on: short when none passes.
    plan = plan_of([1], [], [Uncertain(4, 0, 9, 3)], prior=(10**9, 1))
    assert work_out_cover(plan).days[0].p_short_by == pytest.approx(stats.betabinom(4, 9, 3).pmf(0), rel=1e-6)


def test_runs_of_one_mould_speak_for_each_other_and_those_of_two_do_not() -> None:
    runs = (RunDue(on(0), 1, Beta(1, 1), "left"), RunDue(on(0), 1, Beta(1, 1), "left"))
    plan = replace(plan_of([2], [], prior=(10**9, 1)), runs=runs)
    assert work_out_cover(plan).p_covered == pytest.approx(1 / 2 * 2 / 3, rel=1e-6)
    apart = replace(plan, runs=(runs[0], replace(runs[1], mould="right")))
    assert work_out_cover(apart).p_covered == pytest.approx(1 / 4, rel=1e-6)


def test_copies_set_aside_are_no_spares_until_their_scene_is_shot() -> None:
    sure = (10.0**9, 1.0)
    aside = SetAside(on(1), 1, 3)
    plan = plan_of([1, 1, 2], [Lot(0)], asides=[aside], prior=sure)
    cover = work_out_cover(plan)
    assert cover.days[0].p_short_by == 1
    plan = plan_of([1, 1, 2], [Lot(1)], asides=[aside], prior=sure)
    # The two that its scene leaves serve the last day.
    assert work_out_cover(plan).p_covered == pytest.approx(1, abs=1e-7)
    assert work_out_cover(plan).spares_now == 1


changes = st.integers(0, 3)


@settings(max_examples=80)
@given(lots.filter(bool), needs, changes, st.integers(1, 4), st.integers(1, 3))
def test_more_copies_never_lower_the_cover_and_more_days_or_later_arrivals_never_raise_it(
    lots: list[Lot], needed: list[int], which: int, later: int, more: int
) -> None:
    plan = plan_of(needed, lots)
    base = work_out_cover(plan).p_covered
    slack = 1e-12
    lot = lots[which % len(lots)]
    rest = [other for i, other in enumerate(lots) if i != which % len(lots)]
    added = plan_of(needed, [*rest, replace(lot, copies=lot.copies + 1)])
    assert work_out_cover(added).p_covered >= base - slack
    longer = plan_of([*needed, more], lots)
    # The added day must not make shelf dates matter less: they are days, and stay.
    assert work_out_cover(longer).p_covered <= base + slack
    if lot.come >= 0:
        delayed = plan_of(needed, [*rest, replace(lot, come=lot.come + later)])
        assert work_out_cover(delayed).p_covered <= base + slack
    fresher = plan_of(needed, [*rest, replace(lot, use_by=lot.use_by + later)])
    assert work_out_cover(fresher).p_covered >= base - slack


def test_a_plan_of_many_copies_keeps_its_digits_past_what_a_float_can_count() -> None:
    # 900 copies, of which the last five expire after the first day; on it none are needed. The rest is plain.
    needed = [0, *[4] * 190]
    plan = plan_of(needed, [Lot(5, -1, 0), Lot(895)], prior=(90, 9))
    plain = plan_of(needed, [Lot(895)], prior=(90, 9))
    short, p_covered = chance_of_being_short(plan)
    short_plain, p_plain = chance_of_being_short(plain)
    assert 0.01 < p_plain < 0.99
    assert p_covered == pytest.approx(p_plain, rel=1e-9)
    assert short[-1] == pytest.approx(short_plain[-1], rel=1e-9)
    left, left_plain = work_out_cover(plan).days[-1], work_out_cover(plain).days[-1]
    assert (left.left_p10, left.left_p90) == (left_plain.left_p10, left_plain.left_p90)
    assert left.expected_left == pytest.approx(left_plain.expected_left)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"dated": (DatedCopies(-1, on(0)),)}, "on_set[0].copies"),
        ({"runs": (RunDue(on(0), -1, Beta(1, 1)),)}, "runs[0].poured"),
        ({"set_aside": (SetAside(on(5), 0, 1),)}, "set_aside[0].date"),
        ({"set_aside": (SetAside(on(0), 2, 1),)}, "set_aside[0].copies_needed"),
        ({"set_aside": (SetAside(on(0), 0, -1),)}, "set_aside[0].copies"),
        ({"dated": (DatedCopies(1_001, on(0)),)}, "on_set"),
        (
            {"days": (PlannedDay(on(0), 1), PlannedDay(on(1), 1_000)), "dated": (DatedCopies(1, on(0)),)},
            "days",
        ),
    ],
)
def test_what_breaks_the_rules_is_refused_by_field(change: dict[str, object], field: str) -> None:
    plan = replace(plan_of([1, 1], [Lot(2)]), **change)  # type: ignore[arg-type]
    with pytest.raises(InvalidPlan) as refused:
        work_out_cover(plan)
    assert refused.value.field == field
