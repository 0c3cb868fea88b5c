"""What the cover of a production made by its phones rests on, as the API tells it."""

from __future__ import annotations

import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from continuity.cover.facts import read_facts
from continuity.cover.selectors import cover_of_production
from continuity.schedule.models import Production
from continuity.stock.models import Copy, CopyChange
from tests.shop.season import Season

Json = dict[str, Any]


def _scene(season: Season, number: str, look: str | None = None) -> str:
    worn = {"character": season.show.character, "look": look or season.show.look}
    return season.show.head.make("scene", {"number": number, "worn": [worn]})


def test_a_night_shoot_is_counted_until_it_is_over(season: Season) -> None:
    """What is still to be put on asks for copies after midnight; two hours after the wrap no more."""
    production = Production.objects.get(id=season.id)
    clock = datetime.datetime.now(ZoneInfo(production.time_zone))
    season.shoot(1)
    season.shoot(-1, wrap=f"{clock:%H:%M}", crew_call=f"{clock:%H:%M}")
    assert [(day["date"], day["copies_needed"]) for day in season.cover()["days"]] == [
        (season.date(-1), 1),
        (season.date(1), 1),
    ]
    season.log((season.show.copies[0], "good"), ahead=-1)
    assert season.cover()["days"][0]["copies_needed"] == 0
    season.cancel(-1)
    wrapped = clock - datetime.timedelta(hours=2, minutes=1)
    season.shoot(-1, wrap=f"{wrapped:%H:%M}", crew_call=f"{wrapped:%H:%M}")
    assert [day["date"] for day in season.cover()["days"]] == [season.date(1)]


def test_a_copy_lost_on_set_is_learnt_and_said(season: Season) -> None:
    season.shoot(1, 2)
    first, second, _ = season.show.copies
    before = season.cover()
    assert before["rests_on"] == "nothing logged yet"
    season.log((first, "lost"), (second, "good"))
    cover = season.cover()
    assert cover["log"] == {"good": 1, "spoiled": 0, "lost": 1}
    assert cover["rests_on"] == "1 good, 0 spoiled and 1 lost on set"
    assert cover["rates"]["lost"] == pytest.approx(1 / 11)
    assert cover["rates"]["success"] == pytest.approx(10 / 12)
    assert Copy.objects.get(id=first).state == "lost"
    assert season.show.shop.record(first)["derived"]["state"] == "lost"
    assert CopyChange.objects.filter(copy_id=first, to_state="lost").count() == 1
    assert cover["spares_now"] == 1


def test_a_sheet_on_which_every_copy_was_lost_is_still_to_do(season: Season) -> None:
    season.shoot(0)
    sheet = season.log((season.show.copies[0], "lost"))
    assert season.cover()["days"][0]["copies_needed"] == 1
    artist = season.show.set_artist
    again = {"01990000-0000-7000-8000-00000000000a": {"copy_used": season.show.copies[1]}}
    artist.send_ok(artist.edit(sheet, {"copies": again}))
    assert season.cover()["days"][0]["copies_needed"] == 0


def test_the_default_stands_while_the_logs_cannot_tell(season: Season) -> None:
    season.shoot(1)
    pooling = season.cover()["pooling"]
    assert pooling["source"] == "too few"
    assert pooling["explanation"].startswith("the production's default: ")
    assert pooling["explanation"].endswith(" are needed, and there are 0")
    assert pooling["prior"] == [9, 1]


def test_copies_set_aside_for_a_scene_are_no_spares_elsewhere(season: Season) -> None:
    season.shoot(1, 2, 3)
    pick_up = _scene(season, "99")
    assert season.cover()["p_covered"] == pytest.approx(9 / 12)
    kept = season.add_copies(2, set_aside_for=pick_up)
    cover = season.cover()
    assert (cover["spares_now"], cover["on_set"], cover["set_aside"]) == (3, 3, 2)
    assert cover["p_covered"] == pytest.approx(9 / 12)
    season.shoot(9, scenes=(pick_up,))
    cover = season.cover()
    assert cover["days"][2]["p_short_by"] == pytest.approx(3 / 12)
    # The scene is shot, or cut: what is left is free.
    today = season.today + datetime.timedelta(days=10)
    season.shoot(11)
    (found,) = cover_of_production(season.id, today=today)
    assert (found.spares_now, found.plan.set_aside) == (5, 0)
    season.cancel(9)
    assert season.cover()["set_aside"] == 2
    scene = season.show.head.record(pick_up)
    season.show.head.send_ok(season.show.head.entry("scene", {}, pick_up, scene["revision"], withdrawn="Cut"))
    assert season.cover()["set_aside"] == 0
    assert season.show.shop.record(kept[0])["document"]["set_aside_for"] == pick_up


def test_a_copy_is_set_aside_for_a_scene_of_this_production(season: Season) -> None:
    copy = {"appliance": season.show.appliance, "serial": "B80", "grade": "hero", "state": "on_set"}
    shop = season.show.shop
    result = shop.send(shop.entry("copy", {**copy, "set_aside_for": season.show.unit}))[0]
    assert (result["result"], result["code"]) == ("refused", "unknown_reference")


def test_a_shelf_date_in_the_middle_of_the_schedule_lowers_the_cover(season: Season) -> None:
    season.shoot(1, 2, 3, 4)
    season.add_copies(3)
    good_for_all = season.cover()["p_covered"]
    for copy in season.show.copies:
        now = season.show.shop.record(copy)
        season.show.shop.send_ok(
            season.show.shop.entry("copy", {"use_by": season.date(2)}, copy, now["revision"])
        )
    assert season.cover()["p_covered"] < good_for_all - 0.01
    assert season.cover()["spares_now"] == 6


def test_the_yield_of_a_run_that_is_due_lowers_the_cover(season: Season) -> None:
    season.shoot(3, 4, 5, 6)
    run = {
        "mould": season.show.mould,
        "appliance": season.show.appliance,
        "cast_on": season.date(0),
        "due_on": season.date(2),
        "copies_planned": 3,
    }
    entry = season.show.shop.entry("cast_run", run)
    season.show.shop.send_ok(entry)
    due = season.cover()
    assert due["due"] == 3
    assert due["days"][0]["arrivals"] == 3
    # The result: all three passed, and are on the way to be there on the same day.
    season.show.shop.send_ok(season.show.shop.edit(entry, {"good": 3}))
    season.add_copies(3, state="in_transit", expected_on=season.date(2))
    assert season.cover()["p_covered"] > due["p_covered"] + 0.01


def test_a_mould_learns_its_yield_from_its_runs(season: Season) -> None:
    shop = season.show.shop
    run = {"mould": season.show.mould, "appliance": season.show.appliance, "cast_on": season.date(-9),
           "due_on": season.date(-8), "copies_planned": 5}  # fmt: skip
    shop.make("cast_run", {**run, "good": 3, "rejected": {season.show.unit: {"copies": 2, "why": "Torn"}}})
    shop.make("cast_run", {**run, "good": 4})
    (mould,) = read_facts(season.id).moulds
    assert (mould.good, mould.poured) == (7, 10)
    season.shoot(10, 11, 12, 13)
    before = season.cover()["reorder"]
    shop.make("cast_run", {**run, "good": 0, "copies_planned": 10})
    after = season.cover()["reorder"]
    assert after["pours"] > before["pours"]


def test_two_appliances_in_one_mould_are_never_over_its_capacity(season: Season) -> None:
    head = season.show.head
    cheek = head.make(
        "appliance", {"name": "Cheek", "encapsulator": "gelatine", "edge_solvent": "warm_water"}
    )
    both = head.make(
        "look",
        {"character": season.show.character, "name": "Both", "appliances": [season.show.appliance, cheek]},
    )
    mould = head.record(season.show.mould)
    head.send_ok(
        head.entry(
            "mould", {"appliances": [season.show.appliance, cheek], "cavities": 2, "cycles_per_day": 2},
            season.show.mould, mould["revision"],
        )
    )  # fmt: skip
    season.shoot(*range(5, 12), scenes=(_scene(season, "50", both),))
    schedules = [
        season.cover(appliance)["reorder"]["schedule"] for appliance in (season.show.appliance, cheek)
    ]
    pours: dict[str, int] = {}
    for day in (day for schedule in schedules for day in schedule):
        pours[day["date"]] = pours.get(day["date"], 0) + day["pours"]
    assert all(schedules)
    assert max(pours.values()) <= 4


def test_a_look_that_asks_for_a_lower_grade(season: Season) -> None:
    head = season.show.head
    crowd = head.make(
        "look",
        {
            "character": season.show.character,
            "name": "From afar",
            "appliances": [season.show.appliance],
            "grades": {season.show.appliance: "background"},
        },
    )
    season.add_copies(4, grade="background")
    season.shoot(1)
    assert season.cover()["on_set"] == 3
    season.shoot(2, scenes=(_scene(season, "60", crowd),))
    cover = season.cover()
    assert cover["on_set"] == 7
    assert [each["grade"] for each in cover["grades"]] == ["hero", "background"]
    assert cover["exact"]
    season.cancel(1)
    cover = season.cover()
    assert (cover["grades"], cover["on_set"]) == (None, 7)


def test_the_grade_of_a_look_is_of_an_appliance_that_is_there(season: Season) -> None:
    head = season.show.head
    document = {"character": season.show.character, "name": "From afar", "grades": {season.show.unit: "mid"}}
    assert head.send(head.entry("look", document))[0]["code"] == "unknown_reference"
    document["grades"] = {season.show.appliance: "poor"}
    result = head.send(head.entry("look", document))[0]
    assert (result["code"], result["field"]) == ("not_a_document", f"grades.{season.show.appliance}")


def test_the_settings_of_the_shop_reach_the_order(season: Season) -> None:
    season.shoot(20, 21, 22)
    near = season.cover()["reorder"]
    season.settings(transport_days=5)
    far = season.cover()["reorder"]
    assert far["latest_start"] < near["latest_start"]
    season.settings(transport_days=1, pour_confidence=0.99)
    assert season.cover()["reorder"]["pours"] > near["pours"]
    season.settings(pour_confidence=0.9, dates_off=[near["latest_start"]])
    assert season.cover()["reorder"]["latest_start"] < near["latest_start"]
    season.settings(dates_off=[], yield_prior_good=4.0, yield_prior_rejected=4.0)
    assert season.cover()["reorder"]["pours"] > near["pours"]
    weekdays = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    season.settings(weekdays_off=weekdays)
    never = season.cover()["reorder"]
    assert (never["possible"], never["copies"], never["schedule"]) == (False, 0, [])


def test_a_new_production_has_the_sunday_off(season: Season) -> None:
    production = Production.objects.get(id=season.id)
    assert production.weekdays_off == []
    assert (production.transport_days, production.pour_confidence) == (1, 0.9)
    fresh = Production(name="Another")
    assert fresh.weekdays_off == ["sunday"]
