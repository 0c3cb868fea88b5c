"""What if: the answer is what saving the change really gives, and asking stores nothing."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api.test_codes import CODES
from tests.builders import ROLES, Phone, new_id, table_counts
from tests.shop.season import Season, make_season

Json = dict[str, Any]


def _ask(season: Season, *changes: Json, phone: Phone | None = None) -> Json:
    """The answer; asking has stored nothing."""
    asking = phone or season.show.head
    before = table_counts(), asking.cursor()
    answer = asking.account.post(asking.path("cover/what-if"), {"changes": list(changes)})
    assert answer.status == 200, answer.body
    assert (table_counts(), asking.cursor()) == before
    assert answer.body["answer"] == "what_if"
    assert len(answer.body["words"]) == len(changes)
    return answer.body


def _covers(season: Season) -> list[Json]:
    answer = season.show.head.account.get(season.show.head.path("cover"))
    assert answer.status == 200
    covers: list[Json] = answer.body["appliances"]
    return covers


def _brow(season: Season, covers: list[Json]) -> Json:
    (found,) = [each for each in covers if each["appliance"] == season.show.appliance]
    return found


def _day(season: Season, ahead: int) -> str:
    return str(season.days[ahead]["record"])


def _scene(season: Season, number: str, **more: Any) -> str:
    worn = {"character": season.show.character, "look": season.show.look}
    return season.show.head.make("scene", {"number": number, "worn": [worn], **more})


def test_a_shoot_day_moved_is_as_if_it_were_saved(season: Season) -> None:
    season.shoot(2, 4, 6, 8)
    season.add_copies(2, state="in_transit", expected_on=season.date(7))
    change = {"change": "move_shoot_day", "shoot_day": _day(season, 6), "date": season.date(12)}
    asked = _ask(season, change)
    assert asked["today"] == _covers(season)
    assert asked["then"] != asked["today"]
    season.show.head.send_ok(season.show.head.edit(season.days[6], {"date": season.date(12)}))
    assert asked["then"] == _covers(season)
    assert "Main" in asked["words"][0]
    assert "is moved to" in asked["words"][0]


def test_a_shoot_day_added_is_as_if_it_were_saved(season: Season) -> None:
    season.shoot(2, 4)
    # Two scenes with a wait in between that is too long for one wearing of the brow.
    brow = season.show.head.record(season.show.appliance)
    season.show.head.send_ok(
        season.show.head.entry("appliance", {"wear_limit_minutes": 300}, brow["id"], brow["revision"])
    )
    scenes = [_scene(season, "50", page_eighths=2), _scene(season, "51", page_eighths=6)]
    hours = {"crew_call": "18:00", "wrap": "04:30"}
    day = {"date": season.date(3), "unit": season.show.unit, **hours}
    asked = _ask(season, {"change": "add_shoot_day", **day, "scenes": scenes})
    assert _brow(season, asked["then"])["days"][1]["copies_needed"] == 2
    assert asked["words"][0].endswith("with scenes 50, 51.")
    season.show.head.make("shoot_day", {**day, "scenes": [{"scene": scene} for scene in scenes]})
    assert asked["then"] == _covers(season)


def test_a_reshoot_joins_the_day_of_that_date(season: Season) -> None:
    season.shoot(2, 4, scenes=(_scene(season, "7"),))
    pick_up = season.show.scene
    asked = _ask(season, {"change": "reshoot", "scene": pick_up, "date": season.date(4)})
    both = [*season.days[4]["patch"]["scenes"], {"scene": pick_up}]
    season.show.head.send_ok(season.show.head.edit(season.days[4], {"scenes": both}))
    assert asked["then"] == _covers(season)
    assert "after the scenes planned" in asked["words"][0]


def test_a_reshoot_on_another_date_is_a_day_of_its_own(season: Season) -> None:
    season.shoot(2, 4)
    asked = _ask(season, {"change": "reshoot", "scene": season.show.scene, "date": season.date(9)})
    season.shoot(9)
    assert asked["then"] == _covers(season)
    assert "a day of its own from 07:00 to 18:00" in asked["words"][0]


def test_a_reshoot_brings_copies_set_aside_back_to_their_scene(season: Season) -> None:
    pick_up = _scene(season, "99")
    season.shoot(-3, scenes=(pick_up,))
    season.shoot(2, 4)
    season.add_copies(2, set_aside_for=pick_up)
    # The scene has been shot: its copies are free.
    assert season.cover()["set_aside"] == 0
    asked = _ask(season, {"change": "reshoot", "scene": pick_up, "date": season.date(9)})
    assert _brow(season, asked["then"])["set_aside"] == 2
    season.shoot(9, scenes=(pick_up,))
    assert asked["then"] == _covers(season)


def test_copies_lost_are_as_if_they_were_damaged(season: Season) -> None:
    season.shoot(2, 4, 6)
    season.add_copies(2, use_by=season.date(5))
    asked = _ask(season, {"change": "lose_copies", "appliance": season.show.appliance, "copies": 1})
    dated = [each for each in season.show.shop.records("copy") if "use_by" in each["document"]]
    first = min(dated, key=lambda each: str(each["document"]["serial"]))
    season.show.shop.send_ok(
        season.show.shop.entry("copy", {"state": "damaged"}, first["id"], first["revision"])
    )
    assert asked["then"] == _covers(season)
    assert _brow(season, asked["then"])["spares_now"] == _brow(season, asked["today"])["spares_now"] - 1
    assert asked["words"] == ["1 copy of Brow on set is lost."]


def test_another_target_is_as_if_it_were_saved(season: Season) -> None:
    season.shoot(8, 9)
    asked = _ask(season, {"change": "target", "target": 0.999})
    assert (
        _brow(season, asked["today"])["reorder"]["copies"] < _brow(season, asked["then"])["reorder"]["copies"]
    )
    season.settings(cover_target=0.999)
    assert asked["then"] == _covers(season)
    assert asked["words"] == ["A cover of 99.9 % is wanted instead of 98 %."]


def test_changes_are_made_one_after_another(season: Season) -> None:
    season.shoot(2, 4)
    other = season.show.head.make(
        "appliance", {"name": "Cheek", "encapsulator": "gelatine", "edge_solvent": "warm_water"}
    )
    asked = _ask(
        season,
        {"change": "move_shoot_day", "shoot_day": _day(season, 4), "date": season.date(5)},
        # On the date that has become free.
        {"change": "add_shoot_day", "date": season.date(4), "unit": season.show.unit, "crew_call": "07:00",
         "wrap": "18:00", "scenes": [season.show.scene]},
        {"change": "lose_copies", "appliance": season.show.appliance, "copies": 3},
        {"change": "target", "target": 0.9},
    )  # fmt: skip
    then = _brow(season, asked["then"])
    assert [day["date"] for day in then["days"]] == [season.date(2), season.date(4), season.date(5)]
    assert (then["spares_now"], then["p_covered"]) == (0, 0)
    (untouched,) = [each for each in asked["then"] if each["appliance"] == other]
    assert untouched["p_covered"] == 1


@pytest.mark.parametrize("role", ROLES)
def test_every_role_may_ask(season: Season, role: str) -> None:
    season.shoot(2)
    asked = _ask(season, {"change": "target", "target": 0.5}, phone=season.show.phone(role))
    assert asked["today"] == _covers(season)


def test_nobody_else_may_ask(season: Season) -> None:
    stranger = make_season().show.head
    answer = stranger.account.post(
        season.show.head.path("cover/what-if"), {"changes": [{"change": "target", "target": 0.5}]}
    )
    assert (answer.status, answer.body["code"]) == (404, "not_found")


BAD: dict[str, tuple[Any, str]] = {
    "no body": (None, "not_a_request"),
    "no change": ({"changes": []}, "not_a_request"),
    "too many": ({"changes": [{"change": "target", "target": 0.5}] * 51}, "not_a_request"),
    "a change nobody knows": ({"changes": [{"change": "rewrite"}]}, "not_a_request"),
    "a member too many": ({"changes": [{"change": "target", "target": 0.5, "now": True}]}, "not_a_request"),
    "a target of one": ({"changes": [{"change": "target", "target": 1}]}, "not_a_request"),
    "a target that is text": ({"changes": [{"change": "target", "target": "0.9"}]}, "not_a_request"),
    "a date that is none": (
        {"changes": [{"change": "move_shoot_day", "shoot_day": "DAY", "date": "2026-02-30"}]},
        "not_a_request",
    ),
    "a date gone by": (
        {"changes": [{"change": "move_shoot_day", "shoot_day": "DAY", "date": "PAST"}]},
        "not_a_request",
    ),
    "a date taken": (
        {"changes": [{"change": "move_shoot_day", "shoot_day": "DAY", "date": "TAKEN"}]},
        "already_planned",
    ),
    "a shoot day that is not there": (
        {"changes": [{"change": "move_shoot_day", "shoot_day": "NOBODY", "date": "AHEAD"}]},
        "unknown_reference",
    ),
    "a unit that is not there": (
        {"changes": [{"change": "add_shoot_day", "date": "AHEAD", "unit": "NOBODY", "crew_call": "07:00",
                      "wrap": "18:00", "scenes": []}]},
        "unknown_reference",
    ),
    "hours that are none": (
        {"changes": [{"change": "add_shoot_day", "date": "AHEAD", "unit": "UNIT", "crew_call": "7:00",
                      "wrap": "24:00", "scenes": []}]},
        "not_a_request",
    ),
    "a scene that is not there": (
        {"changes": [{"change": "reshoot", "scene": "NOBODY", "date": "AHEAD"}]}, "unknown_reference"
    ),
    "a scene of another production": (
        {"changes": [{"change": "reshoot", "scene": "ELSEWHERE", "date": "AHEAD"}]}, "unknown_reference"
    ),
    "an appliance that is not there": (
        {"changes": [{"change": "lose_copies", "appliance": "NOBODY", "copies": 1}]}, "unknown_reference"
    ),
    "more copies than there are": (
        {"changes": [{"change": "lose_copies", "appliance": "BROW", "copies": 4}]}, "not_a_request"
    ),
    "no copies lost": (
        {"changes": [{"change": "lose_copies", "appliance": "BROW", "copies": 0}]}, "not_a_request"
    ),
    "the second of two is wrong": (
        {"changes": [{"change": "target", "target": 0.5}, {"change": "lose_copies", "appliance": "NOBODY",
                                                           "copies": 1}]},
        "unknown_reference",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_what_cannot_be_is_refused_and_nothing_is_stored(season: Season, what: str) -> None:
    season.shoot(2, 4)
    elsewhere = make_season().show.scene if what == "a scene of another production" else ""
    names = {
        "DAY": _day(season, 4),
        "PAST": season.date(-1),
        "TAKEN": season.date(2),
        "AHEAD": season.date(9),
        "NOBODY": new_id(),
        "UNIT": season.show.unit,
        "BROW": season.show.appliance,
        "ELSEWHERE": elsewhere,
    }
    body, code = BAD[what]

    def named(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: named(each) for key, each in value.items()}
        if isinstance(value, list):
            return [named(each) for each in value]
        return names.get(value, value) if isinstance(value, str) else value

    before = table_counts(), season.show.head.cursor()
    answer = season.show.head.account.post(season.show.head.path("cover/what-if"), named(body))
    assert 400 <= answer.status < 500
    assert answer.body["code"] == code
    assert code in CODES
    assert answer.body["message"]
    assert (table_counts(), season.show.head.cursor()) == before
    if what == "the second of two is wrong":
        assert answer.body["field"] == "changes.1.appliance"


def test_a_reshoot_of_a_scene_without_any_shoot_day_ahead(season: Season) -> None:
    asked = _ask(season, {"change": "reshoot", "scene": season.show.scene, "date": season.date(1)})
    assert "from 07:00 to 18:00" in asked["words"][0]
    assert _brow(season, asked["then"])["days"][0]["copies_needed"] == 1
