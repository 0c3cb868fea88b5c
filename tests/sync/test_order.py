"""Entries that overtake each other on the way wait on the server for the one they are based on."""

from __future__ import annotations

from continuity.sync.models import Entry
from tests.builders import Show, assert_kept_once, new_id


def test_an_edit_that_comes_first_is_held_and_then_applied(show: Show) -> None:
    first = show.application(show.copies[0])
    second = show.set_artist.edit(first, {"note": "Redness at the temple"})
    held = show.set_artist.send(second)[0]
    assert (held["result"], held["status"]) == ("held", 202)
    assert show.head.records("application") == []
    assert show.set_artist.send(first)[0]["result"] == "stored"
    assert show.head.record(first["record"])["document"]["note"] == "Redness at the temple"
    assert show.head.record(first["record"])["revision"] == second["id"]
    assert_kept_once(show, first, second)


def test_a_chain_of_three_in_reverse(show: Show) -> None:
    first = show.application(show.copies[0])
    second = show.set_artist.edit(first, {"note": "One", "copy_after": "Torn at the edge"})
    third = show.set_artist.edit(second, {"note": "Two"})
    for entry, expected in ((third, "held"), (second, "held"), (first, "stored")):
        assert show.set_artist.send(entry)[0]["result"] == expected
    document = show.head.record(first["record"])["document"]
    assert (document["note"], document["copy_after"]) == ("Two", "Torn at the edge")
    assert not Entry.objects.filter(state="held").exists()
    assert show.head.conflicts() == []
    assert_kept_once(show, first, second, third)


def test_a_chain_of_three_in_reverse_in_one_push(show: Show) -> None:
    first = show.application(show.copies[0])
    second = show.set_artist.edit(first, {"note": "One"})
    third = show.set_artist.edit(second, {"note": "Two"})
    results = show.set_artist.send(third, second, first)
    assert [result["result"] for result in results] == ["held", "held", "stored"]
    assert show.head.record(first["record"])["document"]["note"] == "Two"
    assert_kept_once(show, first, second, third)


def test_a_held_entry_sent_again_is_still_held_then_a_repeat(show: Show) -> None:
    first = show.application(show.copies[0])
    second = show.set_artist.edit(first, {"note": "One"})
    assert [show.set_artist.send(second)[0]["result"] for _ in range(2)] == ["held", "held"]
    show.set_artist.send(first)
    assert show.set_artist.send(second)[0]["result"] == "repeat"
    assert_kept_once(show, first, second)


def test_two_that_wait_for_the_same_entry_collide_like_any_two(show: Show) -> None:
    first = show.application(show.copies[0])
    mine = show.set_artist.edit(first, {"note": "Mine"})
    theirs = show.head.edit(first, {"note": "Theirs"})
    show.set_artist.send(mine)
    show.head.send(theirs)
    show.set_artist.send(first)
    assert show.head.record(first["record"])["document"]["note"] == "Mine"
    (conflict,) = show.head.conflicts()
    assert conflict["entry"] == theirs["id"]
    assert_kept_once(show, first, mine, theirs)


def test_a_held_entry_that_does_not_fit_is_shown_and_not_lost(show: Show) -> None:
    first = show.application(show.copies[0])
    second = show.set_artist.edit(first, {"look": new_id()})
    third = show.set_artist.edit(second, {"note": "Still mine"})
    assert [result["result"] for result in show.set_artist.send(third, second)] == ["held", "held"]
    assert show.set_artist.send(first)[0]["result"] == "stored"
    record = show.head.record(first["record"])
    assert record["document"]["look"] == show.look
    assert record["document"]["note"] == "Still mine"
    (conflict,) = show.head.conflicts()
    assert conflict["entry"] == second["id"]
    assert conflict["fields_collided"][0]["offered"] == second["patch"]
    assert_kept_once(show, first, second, third)


def test_a_held_entry_of_another_kind_is_not_applied(show: Show) -> None:
    """Its sender could write the kind it named, not the kind the record turned out to be."""
    first = show.application(show.copies[0])
    posing = {**show.continuity.edit(first, {"note": "Not mine to write"}), "kind": "unit"}
    assert show.continuity.send(posing)[0]["result"] == "held"
    show.set_artist.send(first)
    assert "note" not in show.head.record(first["record"])["document"]
    (conflict,) = show.head.conflicts()
    assert conflict["entry"] == posing["id"]
    assert_kept_once(show, first, posing)


def test_a_held_edit_does_not_change_a_recipe_version(show: Show) -> None:
    first = show.set_artist.entry("recipe", show.recipe())
    second = show.set_artist.edit(first, {"note": "Warmer"})
    assert [result["result"] for result in show.set_artist.send(second, first)] == ["held", "stored"]
    assert "note" not in show.head.record(first["record"])["document"]
    (conflict,) = show.head.conflicts()
    assert conflict["entry"] == second["id"]
    assert_kept_once(show, first, second)
