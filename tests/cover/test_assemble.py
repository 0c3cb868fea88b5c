"""From what a production holds to its covers and orders."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.cover.assemble import plans_of
from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.covers import ApplianceCover, covers_of
from continuity.cover.grades import GradedCover, GradedPlan
from continuity.cover.plan import Plan
from continuity.cover.pooling import Pooling
from continuity.cover.production_facts import Logged, Place, ProductionFacts
from continuity.cover.promised import mould_of
from continuity.stock.grade import Grade
from tests.cover.known_facts import (
    SETTINGS,
    TODAY,
    appliance,
    date,
    facts,
    look,
    lot,
    mould,
    run,
    scene,
    shoot_day,
)

CUT = scene("12", "cut")


def only(found: ProductionFacts) -> ApplianceCover:
    (cover,) = covers_of(found)
    return cover


def p_covered(*args: Any, **more: Any) -> float:
    return only(facts(*args, **more)).cover.p_covered


DAYS = [shoot_day(ahead, CUT) for ahead in (1, 2, 3)]


# -- the plain case ----------------------------------------------------------------------------------


def test_three_copies_for_three_days() -> None:
    """Worked out by hand: with Beta(9, 1) three copies in a row last with 9/10 x 10/11 x 11/12."""
    found = only(facts(DAYS, [lot(3)]))
    assert found.cover.p_covered == pytest.approx(9 / 12)
    assert found.needed == {date(1): 1, date(2): 1, date(3): 1}
    assert (found.spares_now, found.exact) == (3, True)


def test_what_is_logged_today_is_not_asked_for_again() -> None:
    days = [shoot_day(0, CUT), *DAYS]
    logged = (Logged("brow", "performer of cut", "cut", TODAY),)
    assert p_covered(days, [lot(3)], logged=logged) == pytest.approx(9 / 12)
    assert p_covered(days, [lot(3)]) == 0


def test_a_slip_of_the_pen_in_a_date_is_not_waited_for() -> None:
    far = replace(DAYS[0], id="far", date=datetime.date(2126, 3, 3))
    assert p_covered([*DAYS, far], [lot(3)]) == pytest.approx(9 / 12)


# -- consumption -------------------------------------------------------------------------------------


def test_a_copy_lost_on_set_counts_against_the_rate_and_is_said() -> None:
    found = only(facts(DAYS, [lot(3)], logs={"brow": UsageLog(34, 3, 2)}))
    assert found.plan.estimate.rests_on == "34 good, 3 spoiled and 2 lost on set"
    assert found.plan.estimate.belief == Beta(43, 6)
    without = only(facts(DAYS, [lot(3)], logs={"brow": UsageLog(34, 3)}))
    assert found.cover.p_covered < without.cover.p_covered
    assert found.plan.estimate.lost_rate == pytest.approx(2 / 45)


def test_two_logs_are_too_few_to_pool_and_it_says_so() -> None:
    logs = {"brow": UsageLog(9, 1), "cheek": UsageLog(5, 4)}
    pooling = plans_of(facts(DAYS, logs=logs))[0].pooling
    assert (pooling.source, pooling.prior) == (Pooling.TOO_FEW, SETTINGS.prior)
    assert "and there are 2" in pooling.explanation


def test_an_appliance_without_a_log_borrows_from_the_others() -> None:
    """Four appliances of which every third copy is spoiled say more of a fifth than the default does."""
    logs = {f"appliance {n}": UsageLog(*counts) for n, counts in enumerate([(6, 4), (9, 1), (3, 7), (8, 2)])}
    found = plans_of(facts(DAYS, logs=logs))[0]
    assert found.pooling.source is Pooling.POOLED
    assert found.pooling.explanation == "learnt from the logs of 4 appliances of this production"
    assert found.estimate.belief == found.pooling.prior
    assert 0.5 < found.estimate.success_rate < 0.8


# -- supply ------------------------------------------------------------------------------------------


def test_a_shelf_date_in_the_middle_lowers_the_cover() -> None:
    """Copies that may be used up to day 2 leave nothing for day 3."""
    lots = [lot(4, use_by=date(2)), lot(1)]
    assert p_covered(DAYS, lots) < p_covered(DAYS, [lot(5)])
    assert p_covered(DAYS, [lot(5, use_by=date(2))]) == 0
    assert p_covered(DAYS, [lot(5, use_by=date(3))]) == p_covered(DAYS, [lot(5)])


@pytest.mark.parametrize("said", [-4, 0, 1])
def test_a_copy_still_in_the_shop_has_the_way_to_the_set_before_it(said: int) -> None:
    """A copy that was to come by now, and has not left, is there after the days of transport; one that left
    may come today."""
    travels = replace(SETTINGS, transport_days=2)
    soon = p_covered(DAYS, [lot(1), lot(5, place=Place.SHOP, expected_on=date(said))], settings=travels)
    assert soon == p_covered(DAYS, [lot(1), lot(5, place=Place.SHOP, expected_on=date(2))], settings=travels)
    left = p_covered(DAYS, [lot(1), lot(5, place=Place.IN_TRANSIT, expected_on=date(said))], settings=travels)
    assert left > soon


def test_copies_at_the_shop_without_a_date_count_for_nothing() -> None:
    at_shop = lot(3, place=Place.SHOP)
    found = only(facts(DAYS, [lot(3), at_shop, lot(2, place=Place.IN_TRANSIT, expected_on=date(2))]))
    assert (found.plan.undated, found.plan.due, found.plan.in_transit) == (3, 3, 2)
    assert found.plan.arriving == {date(2): 2}
    assert found.cover.p_covered == p_covered(DAYS, [lot(3), lot(2, place=Place.SHOP, expected_on=date(2))])


def test_a_late_copy_in_transit_is_taken_to_come_today() -> None:
    late = lot(3, place=Place.IN_TRANSIT, expected_on=date(-4))
    assert p_covered(DAYS, [late]) == pytest.approx(9 / 12)


def test_a_run_that_is_due_counts_with_the_yield_of_its_mould() -> None:
    due = (run(2, due=2),)
    sure = p_covered(DAYS, [lot(3), lot(2, place=Place.SHOP, expected_on=date(2))])
    hoped_for = p_covered(DAYS, [lot(3)], runs=due)
    bad_mould = p_covered(DAYS, [lot(3)], runs=due, moulds=(mould(good=2, poured=20),))
    assert p_covered(DAYS, [lot(3)]) < bad_mould < hoped_for < sure


def test_a_run_keeps_as_long_as_its_appliance() -> None:
    """Cast yesterday, it keeps for two days: it is past its date on the third shoot day."""
    assert p_covered(DAYS, runs=(run(5, due=1),), appliances=(appliance(shelf_life_days=2),)) == 0
    assert p_covered(DAYS, runs=(run(5, due=1),), appliances=(appliance(shelf_life_days=4),)) > 0.5


# -- set aside ---------------------------------------------------------------------------------------

PICK_UP = scene("99", "cut")


def test_copies_set_aside_are_no_spares_elsewhere() -> None:
    days = [*DAYS, shoot_day(8, PICK_UP)]
    found = only(facts(days, [lot(3), lot(2, set_aside_for="99")]))
    assert (found.spares_now, found.plan.on_set, found.plan.set_aside) == (3, 3, 2)
    # The first three days have three copies: 9/12, and never more than that.
    assert found.cover.days[2].p_short_by == pytest.approx(1 - 9 / 12)
    assert found.cover.p_covered < p_covered(days, [lot(5)])


def test_what_the_scene_leaves_is_free_the_next_day() -> None:
    after = [shoot_day(1, PICK_UP), *DAYS[1:]]
    kept = only(facts(after, [lot(1), lot(3, set_aside_for="99")]))
    assert kept.cover.p_covered == pytest.approx(p_covered(after, [lot(4)]))


def test_a_scene_that_is_not_planned_keeps_its_copies() -> None:
    found = only(facts(DAYS, [lot(3), lot(5, set_aside_for="99")], scenes={"99": PICK_UP, "12": CUT}))
    assert found.cover.p_covered == pytest.approx(9 / 12)
    assert found.plan.set_aside == 5


def test_two_scenes_of_one_application_want_it_once() -> None:
    """One wearing runs through both scenes, and each has a copy set aside."""
    day = shoot_day(1, scene("12", "cut"), scene("13", "cut"))
    found = only(facts([day], [lot(1, set_aside_for="12"), lot(1, set_aside_for="13")]))
    assert isinstance(found.plan.plan, Plan)
    assert sum(aside.copies_needed for aside in found.plan.plan.set_aside) == 1
    assert found.cover.p_covered >= 0.9


# -- grades ------------------------------------------------------------------------------------------

CROWD = scene("30", "crowd")
TWO_LOOKS: dict[str, Any] = {
    "looks": (look("crowd", "brow"),),
    "grades": {("crowd", "brow"): Grade.BACKGROUND},
}


def test_a_look_that_asks_for_less_is_served_by_less() -> None:
    days = [shoot_day(1, CROWD)]
    background = lot(2, grade=Grade.BACKGROUND)
    assert p_covered(days, [background], **TWO_LOOKS) > 0.98
    assert p_covered([shoot_day(1, CUT)], [background], **TWO_LOOKS) == 0


def test_looks_of_several_grades_are_served_together() -> None:
    """The hero copy that stands in for the background one tomorrow is missing for the hero look after."""
    days = [shoot_day(1, CROWD), shoot_day(2, CUT)]
    found = only(facts(days, [lot(2), lot(1, grade=Grade.BACKGROUND)], **TWO_LOOKS))
    assert isinstance(found.cover, GradedCover)
    assert found.plan.grades == (Grade.HERO, Grade.BACKGROUND)
    assert (found.exact, found.spares_now) == (True, 3)
    apart = p_covered([shoot_day(2, CUT)], [lot(2)])
    assert found.cover.p_covered < apart
    assert p_covered(days, [lot(1), lot(2, grade=Grade.BACKGROUND)], **TWO_LOOKS) < found.cover.p_covered
    assert p_covered(days, [lot(3, grade=Grade.BACKGROUND)], **TWO_LOOKS) == 0


def test_a_run_among_several_grades_counts_only_what_is_sure_to_pass() -> None:
    """With Beta(4, 1) and a confidence of 0.9 one of three passes (checked: P(one or more) = 1 - 6/210,
    P(two or more) = 1 - 30/210)."""
    days = [shoot_day(1, CROWD), shoot_day(3, CUT)]
    found = only(facts(days, [lot(2)], runs=(run(3, due=2),), **TWO_LOOKS))
    one_more = lot(1, place=Place.SHOP, expected_on=date(2))
    assert found.cover.p_covered == p_covered(days, [lot(2), one_more], **TWO_LOOKS)
    assert not found.exact


def test_copies_set_aside_among_several_grades_are_never_counted_too_high() -> None:
    """The scene's day also wants one for the crowd, who must not take what is kept for the scene."""
    days = [shoot_day(1, CROWD, PICK_UP)]
    kept = facts(days, [lot(1), lot(1, set_aside_for="99")], **TWO_LOOKS)
    assert only(kept).cover.p_covered <= p_covered(days, [lot(2)], **TWO_LOOKS)
    assert not only(kept).exact
    alone = [shoot_day(1, CROWD), shoot_day(2, PICK_UP)]
    found = only(facts(alone, [lot(2), lot(2, set_aside_for="99")], **TWO_LOOKS))
    assert found.cover.p_covered > 0.97


# -- orders ------------------------------------------------------------------------------------------


def test_the_order_lifts_the_cover_to_the_target() -> None:
    days = [shoot_day(ahead, CUT) for ahead in (10, 11, 12)]
    found = only(facts(days, [lot(3)]))
    assert found.reorder is not None
    assert found.reorder.possible
    arrivals = lot(found.reorder.copies, place=Place.SHOP, expected_on=date(10))
    assert p_covered(days, [lot(3), arrivals]) >= 0.98
    fewer = lot(found.reorder.copies - 1, place=Place.SHOP, expected_on=date(10))
    assert p_covered(days, [lot(3), fewer]) < 0.98


def test_at_target_nothing_is_ordered() -> None:
    found = only(facts(DAYS, [lot(8)]))
    assert found.reorder is not None
    assert (found.reorder.copies, found.reorder.possible, found.reorder.schedule) == (0, True, ())


def test_the_days_off_of_the_shop_are_kept() -> None:
    days = [shoot_day(ahead, CUT) for ahead in (14, 15, 16)]
    off = replace(SETTINGS, weekdays_off=frozenset({5, 6}), dates_off=frozenset({date(9)}))
    found = only(facts(days, [lot(1)], settings=off))
    assert found.reorder is not None
    poured_on = {day.date for day in found.reorder.schedule}
    assert poured_on
    assert not any(day.weekday() in {5, 6} or day == date(9) for day in poured_on)


def test_a_run_still_to_be_poured_takes_the_mould() -> None:
    days = [shoot_day(ahead, CUT) for ahead in (4, 5, 6)]
    planned = tuple(replace(run(1, due=30, cast=ahead), id=f"run {ahead}") for ahead in range(4))
    free = only(facts(days, [lot(2)])).reorder
    busy = only(facts(days, [lot(2)], runs=planned)).reorder
    assert free is not None
    assert busy is not None
    assert not {day.date for day in busy.schedule} & {date(ahead) for ahead in range(4)}
    assert busy.best_p_covered < free.best_p_covered


def test_of_several_moulds_the_one_with_most_pours_a_day_is_taken() -> None:
    slow = mould(key="slow", cavities=3)
    fast = mould(key="fast", cavities=2, cycles_per_day=2)
    found = mould_of(facts(moulds=(slow, fast)), "brow")
    assert found is not None
    assert found.id == "fast"
    assert mould_of(facts(moulds=(slow, fast)), "cheek") is None


@settings(max_examples=25)
@given(
    cavities=st.integers(1, 2),
    needs=st.lists(st.sampled_from([2, 3, 5, 6, 8]), min_size=2, max_size=5, unique=True),
    spares=st.tuples(st.integers(0, 3), st.integers(0, 3)),
    poured=st.integers(0, 2),
    graded=st.booleans(),
)
def test_a_mould_two_appliances_share_is_never_over_its_capacity(
    cavities: int, needs: list[int], spares: tuple[int, int], poured: int, graded: bool
) -> None:
    both = scene("12", "cut", "cheeks")
    crowd = scene("30", "crowd")
    days = [shoot_day(ahead, both, crowd) for ahead in sorted(needs)]
    found = facts(
        days,
        [lot(spares[0]), lot(spares[1], "cheek")],
        appliances=(appliance(), appliance("cheek")),
        looks=(look("cheeks", "cheek"), look("crowd", "brow")),
        grades={("crowd", "brow"): Grade.BACKGROUND} if graded else {},
        moulds=(mould("brow", "cheek", cavities=cavities),),
        runs=(run(poured, due=4, cast=1),) if poured else (),
    )
    pours: Counter[datetime.date] = Counter()
    covers = covers_of(found)
    for cover in covers:
        assert isinstance(cover.plan.plan, GradedPlan) == (graded and cover.appliance_id == "brow")
        assert cover.reorder is not None
        for day in cover.reorder.schedule:
            pours[day.date] += day.pours
    booked = {date(1): poured}
    assert all(
        number + booked.get(day, 0) <= max(cavities, booked.get(day, 0)) for day, number in pours.items()
    )
    # Asked for alone, an appliance still leaves room for the other.
    for cover in covers:
        (alone,) = covers_of(found, {cover.appliance_id})
        assert alone.reorder == cover.reorder


def test_short_tomorrow_for_certain_and_the_days_after() -> None:
    days = [shoot_day(1, CUT), *(shoot_day(ahead, CUT) for ahead in (20, 21))]
    found = only(facts(days, logs={"brow": UsageLog(20, 1)}))
    assert found.reorder is not None
    assert (found.cover.p_covered, found.reorder.possible, found.reorder.best_p_covered) == (0, False, 0)
    assert found.reorder.still_short == date(1)
    after = only(facts(days[1:], logs={"brow": UsageLog(20, 1)}))
    assert after.reorder is not None
    assert after.reorder.copies == found.reorder.copies


def test_short_tomorrow_for_certain_and_the_days_after_in_several_grades() -> None:
    """Nobody can serve tomorrow's hero look; the order is for the looks after it."""
    days = [shoot_day(1, CUT), shoot_day(20, CROWD), shoot_day(21, CUT)]
    known: dict[str, Any] = {"logs": {"brow": UsageLog(20, 1)}, **TWO_LOOKS}
    background = lot(1, grade=Grade.BACKGROUND)
    found = only(facts(days, [background], **known))
    assert isinstance(found.plan.plan, GradedPlan)
    assert found.reorder is not None
    assert (found.cover.p_covered, found.reorder.possible, found.reorder.best_p_covered) == (0, False, 0)
    assert found.reorder.still_short == date(1)
    after = only(facts(days[1:], [background], **known))
    assert after.reorder is not None
    assert found.reorder.copies == after.reorder.copies > 0
    helped = lot(found.reorder.copies, place=Place.SHOP, expected_on=date(15))
    assert p_covered(days[1:], [background, helped], **known) >= 0.98


# -- a crowd -----------------------------------------------------------------------------------------


def test_a_crowd_is_looked_at_as_far_as_it_can_be_followed() -> None:
    """40 people a day for 60 days, with copies that keep for a while: 500 copies are 12 days."""
    crowd = scene("30", *(f"extra {n}" for n in range(40)))
    days = [shoot_day(ahead, crowd) for ahead in range(1, 61)]
    looks = tuple(look(f"extra {n}", "brow") for n in range(40))
    found = only(facts(days, [lot(1500, use_by=date(10)), lot(500)], looks=looks, moulds=()))
    assert found.plan.until == date(12)
    assert not found.exact
    assert len(found.cover.days) == 12
    assert isinstance(found.plan.plan, Plan)
    assert work_out_cover(found.plan.plan).p_covered == found.cover.p_covered
