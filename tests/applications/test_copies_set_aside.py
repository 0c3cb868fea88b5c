"""A copy that is kept for one scene and taken for another is warned of, and going past that is recorded."""

from __future__ import annotations

from typing import Any

from tests.builders import HAPPENED_AT, Show, new_id

Json = dict[str, Any]


def _kept_for(show: Show, scene: str) -> str:
    copy = {"appliance": show.appliance, "serial": new_id(), "grade": "hero", "state": "on_set"}
    return show.shop.make("copy", {**copy, "set_aside_for": scene})


def _warnings(show: Show, record: str) -> list[Json]:
    return [
        warning
        for warning in show.set_artist.record(record)["derived"]["warnings"]
        if warning["code"] == "copy_set_aside"
    ]


def test_it_is_warned_of_by_the_number_of_its_scene(show: Show) -> None:
    kept_for = show.head.make("scene", {"number": "99A"})
    copy = _kept_for(show, kept_for)
    entry = show.application(copy, scenes=[show.scene])
    show.set_artist.send_ok(entry)
    (warning,) = _warnings(show, entry["record"])
    assert warning["words"].endswith("is set aside for scene 99A.")
    assert not warning["overridden"]
    passed = {warning["key"]: {"words": warning["words"], "at": HAPPENED_AT, "why": "The other one tore"}}
    show.set_artist.send_ok(show.set_artist.edit(entry, {"overridden": passed}))
    (warning,) = _warnings(show, entry["record"])
    assert warning["overridden"]
    kept = show.set_artist.record(entry["record"])["document"]["overridden"]
    assert kept[warning["key"]]["why"] == "The other one tore"


def test_for_its_own_scene_it_may_be_taken(show: Show) -> None:
    entry = show.application(_kept_for(show, show.scene), scenes=[show.scene])
    show.set_artist.send_ok(entry)
    assert _warnings(show, entry["record"]) == []


def test_nothing_is_kept_for_a_scene_that_has_been_shot(show: Show) -> None:
    """The sheet is of a day after the one on which the scene was shot; shot again later, it is kept for."""
    kept_for = show.head.make("scene", {"number": "99A"})
    day = {"unit": show.unit, "crew_call": "07:00", "wrap": "18:00", "scenes": [{"scene": kept_for}]}
    show.head.make("shoot_day", {**day, "date": "2026-11-20"})
    entry = show.application(_kept_for(show, kept_for), scenes=[show.scene], date="2026-11-25")
    show.set_artist.send_ok(entry)
    assert _warnings(show, entry["record"]) == []
    show.head.make("shoot_day", {**day, "date": "2026-11-29"})
    again = show.application(_kept_for(show, kept_for), scenes=[show.scene], date="2026-11-25")
    show.set_artist.send_ok(again)
    assert len(_warnings(show, again["record"])) == 1
