"""Why: the reasons add up to the numbers of the cover, and what would help is worked out."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.builders import ROLES, new_id, table_counts
from tests.shop.season import Season, make_season

Json = dict[str, Any]


def _reasons(season: Season, role: str = "department_head", appliance: str | None = None) -> Json:
    phone = season.show.phone(role)
    answer = phone.account.get(phone.path(f"cover/{appliance or season.show.appliance}/reasons"))
    assert answer.status == 200, answer.body
    assert answer.body["answer"] == "cover_reasons"
    return answer.body


def _busy(season: Season) -> None:
    """A season with something of everything."""
    show = season.show
    look_change = show.head.make(
        "look", {"character": show.character, "name": "Healed", "appliances": [show.appliance]}
    )
    healed = show.head.make(
        "scene", {"number": "60", "worn": [{"character": show.character, "look": look_change}]}
    )
    season.shoot(0, 2, 5)
    season.shoot(8, scenes=(show.scene, healed, show.scene))
    season.add_copies(2, use_by=season.date(6))
    season.add_copies(2, state="in_transit", expected_on=season.date(3))
    season.add_copies(1, state="shop")
    season.add_copies(3, set_aside_for=healed)
    run = {"mould": show.mould, "appliance": show.appliance, "cast_on": season.date(-1),
           "due_on": season.date(4), "copies_planned": 2}  # fmt: skip
    show.shop.make("cast_run", run)
    season.log((show.copies[0], "spoiled"), (show.copies[1], "good"))
    artist = show.set_artist
    lost = {new_id(): {"copy_used": show.copies[2], "outcome": "lost", "why": "Torn off in the rain"}}
    artist.send_ok(artist.entry("application", show.sheet(copies=lost, date=season.date(-1))))


def test_the_reasons_add_up_to_the_cover(season: Season) -> None:
    _busy(season)
    cover, reasons = season.cover(), _reasons(season)
    by_date = {day["date"]: day["applications"] for day in reasons["days"]}
    assert set(by_date) == {day["date"] for day in cover["days"] if day["copies_needed"]}
    for day in cover["days"]:
        asked = by_date.get(day["date"], [])
        assert sum(each["copies"] for each in asked) == day["copies_needed"]
        assert len(asked) == day["applications"]
    for outcome in ("good", "spoiled", "lost"):
        assert sum(line["outcome"] == outcome for line in reasons["log"]) == cover["log"][outcome]
    held: dict[str, int] = {}
    for line in reasons["supply"]:
        held[line["place"]] = held.get(line["place"], 0) + line["copies"]
        assert len(line["serials"]) == (0 if line["place"] == "run" else line["copies"])
    assert held["on_set"] == cover["on_set"] == 2
    assert held["in_transit"] == cover["in_transit"] == 2
    assert held["shop"] + held["run"] == cover["due"] == 3
    assert held["set_aside"] == cover["set_aside"] == 3
    extra = reasons["extra"]
    assert extra["needed"] == sum(day["copies_needed"] for day in cover["days"])
    assert len(extra["chances"]) == extra["for_target"] + 1
    assert extra["chances"][-1] >= 0.98
    # One good, one spoiled and one lost on top of Beta(9, 1): the belief is Beta(10, 2 + 1).
    assert extra["spoiled"] == pytest.approx(extra["needed"] * 2 / 9)
    assert extra["lost"] == pytest.approx(extra["needed"] * 1 / 9)
    come = sum(
        line["copies"]
        for line in reasons["supply"]
        if line["place"] in ("in_transit", "shop", "run") and line["on"]
    )
    assert come == sum(day["arrivals"] for day in cover["days"])


def test_each_reason_names_what_it_is_about(season: Season) -> None:
    _busy(season)
    reasons = _reasons(season)
    last = reasons["days"][-1]
    assert last["date"] == season.date(8)
    assert [each["why"] for each in last["applications"]] == [
        "first of the day",
        "look change",
        "look change",
    ]
    first = last["applications"][0]
    assert (first["performer"], first["look"]) == (season.show.performer, season.show.look)
    # Three scenes without planned minutes share 07:00 to 18:00.
    assert (first["starts_at"], first["ends_at"]) == (420, 640)
    assert first["scenes"] == [season.show.scene]
    (lost,) = [line for line in reasons["log"] if line["outcome"] == "lost"]
    assert (lost["copy"], lost["why"]) == (season.show.copies[2], "Torn off in the rain")
    assert lost["date"] == season.date(-1)
    assert reasons["log"][-1] == lost
    supply = {line["place"]: line for line in reasons["supply"]}
    assert supply["on_set"]["use_by"] == season.date(6)
    assert supply["on_set"]["on"] is None
    assert supply["in_transit"]["on"] == season.date(3)
    assert supply["shop"]["on"] is None
    assert supply["run"]["on"] == season.date(4)
    assert season.show.shop.record(supply["run"]["cast_run"])["kind"] == "cast_run"
    assert season.show.head.record(supply["set_aside"]["scene"])["document"]["number"] == "60"


def test_an_application_on_a_face_already_is_no_reason_for_copies(season: Season) -> None:
    season.shoot(0, 1)
    season.log((season.show.copies[0], "good"))
    assert [day["date"] for day in _reasons(season)["days"]] == [season.date(1)]


def test_a_lookup_stores_nothing_and_says_nothing_of_health(season: Season) -> None:
    show = season.show
    season.shoot(2)
    sheet = show.sheet(
        copies={new_id(): {"copy_used": show.copies[0], "outcome": "good"}},
        date=season.date(-1),
        removed_at="2026-01-05T18:00:00+00:00",
        skin_after="Raw along the brow",
    )
    show.set_artist.send_ok(show.set_artist.entry("application", sheet))
    before = table_counts()
    for role in ROLES:
        reasons = _reasons(season, role)
        assert reasons == _reasons(season)
        assert "Raw" not in str(reasons)
        assert all(
            set(line) == {"application", "date", "performer", "look", "copy", "outcome", "why"}
            for line in reasons["log"]
        )
    assert table_counts() == before


def test_what_is_not_there_has_no_reasons(season: Season) -> None:
    head = season.show.head
    for appliance in (new_id(), season.show.look, make_season().show.appliance):
        answer = head.account.get(head.path(f"cover/{appliance}/reasons"))
        assert (answer.status, answer.body["code"]) == (404, "not_found")
    assert head.account.get(head.path("cover/brow/reasons")).status == 404


def test_what_would_help_is_worked_out(season: Season) -> None:
    # One pour a day, there the day after: two copies at most by the day after tomorrow, and ten are needed.
    character = season.show.head.make("character", {"name": "Crowd"})
    performers = [season.show.head.make("performer", {"name": f"Crowd {n}"}) for n in range(6)]
    look = season.show.head.make(
        "look", {"character": character, "name": "Cut", "appliances": [_any(season)]}
    )
    worn = [{"character": character, "look": look, "performer": each} for each in performers]
    crowd = season.show.head.make("scene", {"number": "80", "worn": worn})
    season.shoot(3, 20, scenes=(crowd,))
    appliance = str(look_appliance(season, look))
    copy = {"appliance": appliance, "grade": "hero", "state": "on_set"}
    for n in range(5):
        season.show.shop.make("copy", {**copy, "serial": f"C{n}"})
    for n in range(4):
        season.show.shop.make("copy", {**copy, "serial": f"L{n}", "grade": "background"})
    cover = season.cover(appliance)
    assert not cover["reorder"]["possible"]
    assert cover["reorder"]["still_short"] == season.date(3)
    fixes = {fix["remedy"]: fix for fix in _reasons(season, appliance=appliance)["fixes"]}
    assert set(fixes) == {"one more mould", "move a shoot day", "accept a lower grade"}
    for fix in fixes.values():
        assert fix["p_covered"] > cover["reorder"]["best_p_covered"]
        assert re.search(r"\d %", fix["words"])
    assert fixes["accept a lower grade"]["copies"] == 4
    assert fixes["move a shoot day"]["moved"] == season.date(3)
    # Move it for real: the best cover is what the remedy said.
    day = season.days[3]
    season.show.head.send_ok(season.show.head.edit(day, {"date": fixes["move a shoot day"]["to"]}))
    moved = season.cover(appliance)["reorder"]
    assert moved["best_p_covered"] == pytest.approx(fixes["move a shoot day"]["p_covered"])
    assert moved["possible"] == fixes["move a shoot day"]["enough"]


def _any(season: Season) -> str:
    """A generic appliance in a mould of its own."""
    head = season.show.head
    cheek = head.make(
        "appliance", {"name": "Cheek", "encapsulator": "gelatine", "edge_solvent": "warm_water"}
    )
    head.make("mould", {"name": "Cheek mould", "appliances": [cheek], "cycle_minutes": 240})
    return cheek


def look_appliance(season: Season, look: str) -> str:
    (appliance,) = season.show.head.record(look)["document"]["appliances"]
    return str(appliance)


def test_a_target_in_reach_needs_no_help(season: Season) -> None:
    season.shoot(20)
    assert season.cover()["reorder"]["possible"]
    assert _reasons(season)["fixes"] == []
