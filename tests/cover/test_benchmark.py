"""The benchmark measures what it says. Small numbers; nothing is timed here."""

from __future__ import annotations

from dataclasses import replace

import pytest

from continuity.cover.benchmark import (
    Growth,
    example_plan,
    growth,
    plain_chances,
    simulate,
    times_of_season,
    with_shelf_dates,
)
from continuity.cover.calculation import work_out_cover
from continuity.cover.plan import SetAside, all_alike


@pytest.mark.parametrize(("days", "copies"), [(5, 9), (40, 60), (120, 200)])
def test_the_plain_evaluation_comes_to_the_same(days: int, copies: int) -> None:
    plan = example_plan(days, copies)
    expected = [day.p_short_by for day in work_out_cover(plan).days]
    assert plain_chances(plan) == pytest.approx(expected, rel=1e-10, abs=0)


def test_the_plan_with_shelf_dates_has_copies_that_run_out() -> None:
    plan = example_plan(60, 100)
    dated = with_shelf_dates(plan)
    assert not all_alike(dated)
    assert dated.most_supplied == plan.most_supplied
    assert 0 < work_out_cover(dated).p_covered < work_out_cover(plan).p_covered


def test_simulated_seasons_agree() -> None:
    for plan in (example_plan(12, 20), with_shelf_dates(example_plan(12, 20))):
        found = simulate(plan, seasons=20_000, seed=5, chunk=7_000)
        assert found.p_covered == work_out_cover(plan).p_covered
        assert found.errors < 4
        assert found.most_errors < 4
        assert simulate(plan, seasons=20_000, seed=5, chunk=7_000) == found


def test_a_simulation_of_another_plan_would_be_told() -> None:
    plan = example_plan(12, 20)
    drawn = simulate(plan, seasons=20_000, seed=5).simulated
    other = work_out_cover(replace(plan, on_set=plan.on_set + 1)).p_covered
    assert abs(drawn - other) > 4 * simulate(plan, seasons=20_000, seed=5).standard_error


def test_a_plan_that_cannot_be_drawn_is_refused() -> None:
    plan = example_plan(12, 20)
    with pytest.raises(ValueError, match="set aside"):
        simulate(replace(plan, set_aside=(SetAside(plan.days[0].date, 0, 1),)), seasons=1)


def test_times_and_growth_are_told_for_the_plans_asked_for() -> None:
    times = times_of_season(6, 10, repeats=1)
    assert min(times.cover, times.chances, times.plain, times.dated, times.reorder) > 0
    assert times.ratio_to_plain == times.chances / times.plain
    for shelf_dates in (False, True):
        found = growth((3, 6), repeats=1, shelf_dates=shelf_dates)
        assert (found.days, found.copies) == ((3, 6), (5, 10))
    assert Growth((30, 60), (50, 100), (1.0, 4.0)).power == pytest.approx(2)
