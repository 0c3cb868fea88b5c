"""A paint recipe is a row of versions, none of which ever changes."""

from __future__ import annotations

from tests.builders import Show, assert_kept_once


def test_a_version_is_fixed(show: Show) -> None:
    first = show.set_artist.entry("recipe", show.recipe())
    show.set_artist.send_ok(first)
    result = show.set_artist.send(show.set_artist.edit(first, {"note": "Warmer"}))[0]
    assert (result["result"], result["status"], result["code"]) == ("refused", 409, "recipe_is_fixed")
    assert "note" not in show.head.record(first["record"])["document"]


def test_a_change_is_a_new_version(show: Show) -> None:
    first = show.set_artist.entry("recipe", show.recipe())
    second = show.set_artist.entry("recipe", show.recipe(version=2, previous=first["record"], note="Warmer"))
    show.set_artist.send_ok(first, second)
    assert show.head.conflicts() == []
    assert {record["document"]["version"] for record in show.head.records("recipe")} == {1, 2}


def test_the_same_version_made_twice_is_kept_twice_and_shown(show: Show) -> None:
    first = show.set_artist.entry("recipe", show.recipe(version=2))
    second = show.head.entry("recipe", show.recipe(version=2, note="By the head"))
    show.set_artist.send_ok(first)
    assert show.head.send(second)[0]["result"] == "conflict"
    (conflict,) = show.head.conflicts()
    assert conflict["sort"] == "recipe_version_twice"
    assert (conflict["about"], conflict["other"]) == (second["record"], first["record"])
    assert len(show.head.records("recipe")) == 2
    assert_kept_once(show, first, second)


def test_a_version_can_be_taken_back(show: Show) -> None:
    first = show.set_artist.entry("recipe", show.recipe())
    show.set_artist.send_ok(first, show.set_artist.edit(first, {}, withdrawn="Never used"))
    assert show.head.record(first["record"])["withdrawn"] is True
    assert show.set_artist.send(show.set_artist.entry("recipe", show.recipe()))[0]["result"] == "stored"
