"""Planned applications from the schedule: one test a rule. Rules are common practice, no source; the shoot
days are made up here."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

import pytest

from continuity.cover.demand import (
    Look,
    LookAppliance,
    PlannedApplication,
    PlannedScene,
    Reason,
    ShootDay,
    Worn,
    copies_needed_by_date,
    planned_applications,
    scene_times,
)

MONDAY = datetime.date(2026, 3, 2)
TUESDAY = datetime.date(2026, 3, 3)

BROW = LookAppliance("brow", performer_id=None, copies_per_application=1)
FRESH = Look("fresh", (BROW,))
HEALING = Look("healing", (LookAppliance("scab", None, 1),))
BARE = Look("bare", ())
LOOKS = {look.id: look for look in (FRESH, HEALING, BARE)}


def copies_needed_by_day(applications: Iterable[PlannedApplication]) -> dict[str, dict[str, int]]:
    """Copies needed when none is spoiled: appliance id, then shoot day id. Days that need none are left
    out.
    """
    needed: dict[str, dict[str, int]] = {}
    for application in applications:
        by_day = needed.setdefault(application.appliance_id, {})
        by_day[application.day_id] = by_day.get(application.day_id, 0) + application.copies
    return needed


def scene(
    number: str,
    *worn: str,
    minutes: int | None = 60,
    eighths: int = 8,
    off: tuple[str, ...] = (),
) -> PlannedScene:
    """A scene with "performer:look" pairs."""
    return PlannedScene(
        scene_id=f"scene {number}",
        number=number,
        planned_minutes=minutes,
        page_eighths=eighths,
        worn=tuple(Worn(*pair.split(":")) for pair in worn),
        taken_off_after=frozenset(off),
    )


def shoot_day(
    *scenes: PlannedScene,
    day_id: str = "day 1",
    date: datetime.date = MONDAY,
    call: int = 8 * 60,
    wrap: int = 18 * 60,
) -> ShootDay:
    return ShootDay(day_id, date, call, wrap, scenes)


def planned(*scenes: PlannedScene, looks: dict[str, Look] | None = None) -> list[PlannedApplication]:
    return planned_applications([shoot_day(*scenes)], looks or LOOKS)


def told(applications: list[PlannedApplication]) -> list[tuple[str, str, tuple[str, ...], Reason]]:
    return [
        (a.performer_id, a.appliance_id, tuple(s.removeprefix("scene ") for s in a.scene_ids), a.reason)
        for a in applications
    ]


def test_one_scene_is_one_application_with_everything_known_of_it() -> None:
    assert planned(scene("42A", "ann:fresh", minutes=90)) == [
        PlannedApplication(
            appliance_id="brow",
            performer_id="ann",
            look_id="fresh",
            day_id="day 1",
            date=MONDAY,
            scene_ids=("scene 42A",),
            starts_at=480,
            ends_at=570,
            copies=1,
            reason=Reason.FIRST_OF_THE_DAY,
        )
    ]


def test_a_look_worn_through_neighbouring_scenes_is_one_application() -> None:
    applications = planned(scene("1", "ann:fresh"), scene("2", "ann:fresh"))
    assert told(applications) == [("ann", "brow", ("1", "2"), Reason.FIRST_OF_THE_DAY)]
    assert (applications[0].starts_at, applications[0].ends_at) == (480, 600)


def test_scenes_of_others_in_between_do_not_matter() -> None:
    applications = planned(scene("1", "ann:fresh"), scene("2", "bo:healing"), scene("3", "ann:fresh"))
    assert told(applications) == [
        ("ann", "brow", ("1", "3"), Reason.FIRST_OF_THE_DAY),
        ("bo", "scab", ("2",), Reason.FIRST_OF_THE_DAY),
    ]
    assert applications[0].ends_at == 660


def test_another_look_in_between_is_a_new_application() -> None:
    applications = planned(scene("1", "ann:fresh"), scene("2", "ann:healing"), scene("3", "ann:fresh"))
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "scab", ("2",), Reason.LOOK_CHANGE),
        ("ann", "brow", ("3",), Reason.LOOK_CHANGE),
    ]


def test_the_bare_face_in_between_is_another_look() -> None:
    applications = planned(scene("1", "ann:fresh"), scene("2", "ann:bare"), scene("3", "ann:fresh"))
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "brow", ("3",), Reason.LOOK_CHANGE),
    ]


def test_the_bare_face_first_leaves_the_later_look_the_first_of_the_day() -> None:
    applications = planned(scene("1", "ann:bare"), scene("2", "ann:fresh"))
    assert told(applications) == [("ann", "brow", ("2",), Reason.FIRST_OF_THE_DAY)]


def test_a_change_to_a_look_with_the_same_appliance_takes_a_new_copy() -> None:
    looks = {"fresh": FRESH, "dirty": Look("dirty", (BROW,))}
    applications = planned(scene("1", "ann:fresh"), scene("2", "ann:dirty"), looks=looks)
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "brow", ("2",), Reason.LOOK_CHANGE),
    ]
    assert [a.look_id for a in applications] == ["fresh", "dirty"]


def test_taken_off_between_is_a_new_application() -> None:
    applications = planned(scene("1", "ann:fresh", off=("ann",)), scene("2", "ann:fresh"))
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "brow", ("2",), Reason.TAKEN_OFF_BETWEEN),
    ]


def test_taken_off_after_a_scene_of_others_counts_and_only_for_the_one_named() -> None:
    applications = planned(
        scene("1", "ann:fresh", "bo:fresh"),
        scene("2", "cy:healing", off=("ann", "nobody")),
        scene("3", "ann:fresh", "bo:fresh"),
    )
    assert [row for row in told(applications) if row[1] == "brow"] == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("bo", "brow", ("1", "3"), Reason.FIRST_OF_THE_DAY),
        ("ann", "brow", ("3",), Reason.TAKEN_OFF_BETWEEN),
    ]


def test_taken_off_after_the_last_scene_asks_for_nothing_more() -> None:
    assert len(planned(scene("1", "ann:fresh", off=("ann",)))) == 1


@pytest.mark.parametrize(("limit", "wearings"), [(180, [("1", "2", "3")]), (179, [("1", "2"), ("3",)])])
def test_over_the_wear_limit_is_a_new_application(limit: int, wearings: list[tuple[str, ...]]) -> None:
    looks = {"fresh": Look("fresh", (LookAppliance("brow", None, 1, wear_limit_minutes=limit),))}
    applications = planned(*(scene(n, "ann:fresh") for n in "123"), looks=looks)
    reasons = [Reason.FIRST_OF_THE_DAY, Reason.WEAR_LIMIT]
    assert told(applications) == [
        ("ann", "brow", scenes, reason) for scenes, reason in zip(wearings, reasons, strict=False)
    ]


def test_the_wear_limit_is_counted_again_from_the_new_application_and_through_scenes_of_others() -> None:
    looks = LOOKS | {"fresh": Look("fresh", (LookAppliance("brow", None, 1, wear_limit_minutes=120),))}
    applications = planned(
        scene("1", "ann:fresh"),
        scene("2", "bo:healing"),
        scene("3", "ann:fresh"),
        scene("4", "ann:fresh"),
        scene("5", "ann:fresh"),
        looks=looks,
    )
    assert [row[2] for row in told(applications) if row[0] == "ann"] == [("1",), ("3", "4"), ("5",)]


def test_a_wear_limit_renews_its_own_appliance_and_leaves_the_others_on() -> None:
    looks = {
        "fresh": Look(
            "fresh",
            (LookAppliance("brow", None, 1, wear_limit_minutes=90), LookAppliance("chin", None, 1, 600)),
        )
    }
    applications = planned(scene("1", "ann:fresh"), scene("2", "ann:fresh"), looks=looks)
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "chin", ("1", "2"), Reason.FIRST_OF_THE_DAY),
        ("ann", "brow", ("2",), Reason.WEAR_LIMIT),
    ]


def test_one_scene_longer_than_the_limit_is_not_split() -> None:
    looks = {"fresh": Look("fresh", (LookAppliance("brow", None, 1, wear_limit_minutes=30),))}
    assert len(planned(scene("1", "ann:fresh", minutes=200), looks=looks)) == 1


def test_a_new_day_is_a_new_application() -> None:
    days = [
        shoot_day(scene("1", "ann:fresh")),
        shoot_day(scene("2", "ann:fresh"), day_id="day 2", date=TUESDAY),
    ]
    applications = planned_applications(days, LOOKS)
    assert [(a.day_id, a.date, a.reason) for a in applications] == [
        ("day 1", MONDAY, Reason.FIRST_OF_THE_DAY),
        ("day 2", TUESDAY, Reason.FIRST_OF_THE_DAY),
    ]


def test_a_double_in_the_same_scene_counts_for_its_own() -> None:
    applications = planned(scene("1", "ann:fresh", "double:fresh"))
    assert [a.performer_id for a in applications] == ["ann", "double"]
    assert copies_needed_by_day(applications) == {"brow": {"day 1": 2}}


def test_a_performer_needs_their_own_appliances_of_a_look_and_the_generic_ones() -> None:
    looks = {
        "fresh": Look(
            "fresh",
            (
                LookAppliance("brow of ann", "ann", 1),
                LookAppliance("brow of double", "double", 1),
                LookAppliance("cheek", None, 1),
            ),
        )
    }
    applications = planned(scene("1", "ann:fresh", "double:fresh"), looks=looks)
    assert sorted((a.performer_id, a.appliance_id) for a in applications) == [
        ("ann", "brow of ann"),
        ("ann", "cheek"),
        ("double", "brow of double"),
        ("double", "cheek"),
    ]


def test_two_looks_in_one_scene_are_changed_in_the_order_listed() -> None:
    applications = planned(scene("1", "ann:fresh", "ann:healing"), scene("2", "ann:healing"))
    assert told(applications) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY),
        ("ann", "scab", ("1", "2"), Reason.LOOK_CHANGE),
    ]


def test_the_same_look_listed_twice_in_a_scene_counts_once() -> None:
    assert told(planned(scene("1", "ann:fresh", "ann:fresh"))) == [
        ("ann", "brow", ("1",), Reason.FIRST_OF_THE_DAY)
    ]


def test_scenes_without_planned_minutes_share_what_is_left_by_page_eighths() -> None:
    day = shoot_day(
        scene("1", minutes=None, eighths=3),
        scene("2", minutes=120),
        scene("3", minutes=None, eighths=1),
        call=600,
        wrap=1000,
    )
    # 400 minutes less 120 planned leaves 280: three quarters and one quarter.
    assert scene_times(day) == [(600, 810), (810, 930), (930, 1000)]


def test_rounded_shares_still_end_at_the_wrap() -> None:
    day = shoot_day(*(scene(n, minutes=None, eighths=1) for n in "1234567"), call=480, wrap=1080)
    times = scene_times(day)
    assert times[0][0] == 480
    assert times[-1][1] == 1080
    assert {end - start for start, end in times} == {85, 86}


def test_without_any_page_eighths_the_shares_are_equal() -> None:
    day = shoot_day(
        scene("1", minutes=None, eighths=0), scene("2", minutes=None, eighths=0), call=0, wrap=100
    )
    assert scene_times(day) == [(0, 50), (50, 100)]


def test_a_day_already_full_leaves_no_minutes_to_share() -> None:
    day = shoot_day(scene("1", minutes=700), scene("2", minutes=None), call=480, wrap=1080)
    assert scene_times(day) == [(480, 1180), (1180, 1180)]


@pytest.mark.parametrize("wrap", [4 * 60, 28 * 60])
def test_a_wrap_past_midnight_may_be_written_either_way(wrap: int) -> None:
    day = shoot_day(scene("1", minutes=None), call=18 * 60, wrap=wrap)
    assert scene_times(day) == [(1080, 1680)]


def test_copies_are_summed_by_shoot_day_and_over_units_by_date() -> None:
    looks = {"fresh": Look("fresh", (LookAppliance("ear", None, copies_per_application=2),))}
    days = [
        shoot_day(scene("9", "ann:fresh"), day_id="later", date=TUESDAY),
        shoot_day(scene("1", "ann:fresh", off=("ann",)), scene("2", "ann:fresh"), day_id="main"),
        shoot_day(scene("3", "double:fresh"), day_id="second"),
    ]
    applications = planned_applications(days, looks)
    assert copies_needed_by_day(applications) == {"ear": {"later": 2, "main": 4, "second": 2}}
    by_date = copies_needed_by_date(applications)
    assert by_date == {"ear": {MONDAY: 6, TUESDAY: 2}}
    assert list(by_date["ear"]) == [MONDAY, TUESDAY]


def test_a_day_without_scenes_or_looks_asks_for_nothing() -> None:
    assert planned_applications([shoot_day(), shoot_day(scene("1"))], LOOKS) == []


def test_a_look_that_is_not_given_is_named() -> None:
    with pytest.raises(KeyError, match="unknown"):
        planned(scene("1", "ann:unknown"))
