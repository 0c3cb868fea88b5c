"""Two people write the same record unseen by each other: nothing is dropped, nothing merged in silence."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Show, assert_kept_once, new_id

Sheet = dict[str, Any]


@pytest.fixture
def sheet(show: Show) -> Sheet:
    """The first entry of an application that everybody has."""
    first = show.application(show.copies[0], note="As it was")
    show.set_artist.send_ok(first)
    return first


def test_edits_of_different_members_are_both_applied(show: Show, sheet: Sheet) -> None:
    theirs = show.head.edit(sheet, {"copy_after": "Torn at the edge"})
    mine = show.set_artist.edit(sheet, {"sealer": None, "removed_at": "2026-11-25T16:00:00Z"})
    show.head.send_ok(theirs)
    assert show.set_artist.send(mine)[0]["result"] == "stored"
    document = show.head.record(sheet["record"])["document"]
    assert document["copy_after"] == "Torn at the edge"
    assert document["removed_at"] == "2026-11-25T16:00:00Z"
    assert show.head.conflicts() == []
    assert_kept_once(show, sheet, theirs, mine)


def test_a_collision_keeps_both_values_and_is_shown(show: Show, sheet: Sheet) -> None:
    theirs = show.head.edit(sheet, {"note": "Theirs"})
    mine = show.set_artist.edit(sheet, {"note": "Mine", "copy_after": "Whole"})
    show.head.send_ok(theirs)
    result = show.set_artist.send(mine)[0]
    assert (result["result"], result["status"], result["retryable"]) == ("conflict", 200, False)
    document = show.head.record(sheet["record"])["document"]
    assert (document["note"], document["copy_after"]) == ("Theirs", "Whole")
    (conflict,) = show.continuity.conflicts()
    assert conflict["sort"] == "stale_edit"
    assert (conflict["about_kind"], conflict["about"]) == ("application", sheet["record"])
    assert conflict["entry"] == mine["id"]
    assert conflict["fields_collided"] == [{"path": ["note"], "kept": "Theirs", "offered": "Mine"}]
    assert_kept_once(show, sheet, theirs, mine)


def test_both_wrote_the_same_value(show: Show, sheet: Sheet) -> None:
    theirs, mine = show.head.edit(sheet, {"note": "Same"}), show.set_artist.edit(sheet, {"note": "Same"})
    show.head.send_ok(theirs)
    assert show.set_artist.send(mine)[0]["result"] == "stored"
    assert_kept_once(show, sheet, theirs, mine)


def test_an_edit_collides_with_a_removal(show: Show, sheet: Sheet) -> None:
    show.head.send_ok(show.head.edit(sheet, {"note": None}))
    mine = show.set_artist.edit(sheet, {"note": "Mine"})
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    (conflict,) = show.head.conflicts()
    collision = conflict["fields_collided"][0]
    assert collision.get("kept") is None
    assert collision["offered"] == "Mine"
    assert "note" not in show.head.record(sheet["record"])["document"]


def test_two_touch_ups_added_at_once_do_not_collide(show: Show, sheet: Sheet) -> None:
    one, two = (
        {"touch_ups": {new_id(): {"at": f"2026-11-25T1{hour}:00:00Z", "reason": "Sweat"}}} for hour in (1, 2)
    )
    show.head.send_ok(show.head.edit(sheet, one))
    assert show.set_artist.send(show.set_artist.edit(sheet, two))[0]["result"] == "stored"
    assert show.head.record(sheet["record"])["document"]["touch_ups"] == {
        **one["touch_ups"],
        **two["touch_ups"],
    }


def test_an_item_changed_here_and_taken_away_there_collides(show: Show, sheet: Sheet) -> None:
    item = new_id()
    added = show.set_artist.edit(
        sheet, {"touch_ups": {item: {"at": "2026-11-25T11:00:00Z", "reason": "Sweat"}}}
    )
    show.set_artist.send_ok(added)
    show.head.send_ok(show.head.edit(added, {"touch_ups": {item: None}}))
    mine = show.set_artist.edit(added, {"touch_ups": {item: {"reason": "Rain"}}})
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    (conflict,) = show.head.conflicts()
    assert conflict["fields_collided"][0]["path"] == ["touch_ups", item, "reason"]
    assert conflict["fields_collided"][0]["offered"] == "Rain"
    assert show.head.record(sheet["record"])["document"]["touch_ups"] == {}
    assert_kept_once(show, sheet, added, mine)


def test_what_was_pulled_before_the_edit_counts_as_seen(show: Show, sheet: Sheet) -> None:
    """The phone had pulled the other edit and wrote over it knowingly."""
    show.head.send_ok(show.head.edit(sheet, {"note": "Theirs"}))
    seen = show.set_artist.record(sheet["record"])["seq"]
    mine = show.set_artist.edit(sheet, {"note": "Mine"}, seen=seen)
    assert show.set_artist.send(mine)[0]["result"] == "stored"
    assert show.head.record(sheet["record"])["document"]["note"] == "Mine"


def test_what_came_after_the_pull_does_not_count_as_seen(show: Show, sheet: Sheet) -> None:
    seen = show.set_artist.record(sheet["record"])["seq"]
    show.head.send_ok(show.head.edit(sheet, {"note": "Theirs"}))
    mine = show.set_artist.edit(sheet, {"note": "Mine"}, seen=seen)
    assert show.set_artist.send(mine)[0]["result"] == "conflict"


def test_ones_own_chain_is_seen_though_nothing_was_pulled(show: Show, sheet: Sheet) -> None:
    first = show.set_artist.edit(sheet, {"note": "One"}, seen=0)
    second = show.set_artist.edit(first, {"note": "Two"}, seen=0)
    show.set_artist.send_ok(first, second)
    assert show.head.record(sheet["record"])["document"]["note"] == "Two"
    assert show.head.conflicts() == []


def test_an_edit_between_ones_own_two_is_unseen_by_the_second(show: Show, sheet: Sheet) -> None:
    first = show.set_artist.edit(sheet, {"note": "One"})
    second = show.set_artist.edit(first, {"note": "Two"})
    show.set_artist.send_ok(first)
    theirs = show.head.edit(first, {"note": "Theirs"})
    show.head.send_ok(theirs)
    assert show.set_artist.send(second)[0]["result"] == "conflict"
    assert show.head.record(sheet["record"])["document"]["note"] == "Theirs"
    assert_kept_once(show, sheet, first, theirs, second)


def test_an_edit_of_a_withdrawn_record_is_kept_and_shown(show: Show, sheet: Sheet) -> None:
    taken_back = show.head.edit(sheet, {}, withdrawn="Entered twice")
    show.head.send_ok(taken_back)
    mine = show.set_artist.edit(sheet, {"copy_after": "Torn"})
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    record = show.head.record(sheet["record"])
    assert record["withdrawn"] is True
    assert record["document"]["copy_after"] == "Torn"
    (conflict,) = show.head.conflicts()
    assert (conflict["sort"], conflict["entry"]) == ("edit_of_withdrawn", mine["id"])
    assert_kept_once(show, sheet, taken_back, mine)


def test_a_record_taken_back_over_an_unseen_edit_is_shown(show: Show, sheet: Sheet) -> None:
    theirs = show.head.edit(sheet, {"copy_after": "Torn at the edge"})
    mine = show.set_artist.edit(sheet, {}, withdrawn="Entered twice")
    show.head.send_ok(theirs)
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    record = show.head.record(sheet["record"])
    assert (record["withdrawn"], record["document"]["copy_after"]) == (True, "Torn at the edge")
    (conflict,) = show.continuity.conflicts()
    assert (conflict["sort"], conflict["entry"]) == ("edit_of_withdrawn", mine["id"])
    assert_kept_once(show, sheet, theirs, mine)


def test_a_record_taken_back_with_everything_seen_is_no_conflict(show: Show, sheet: Sheet) -> None:
    mine = show.set_artist.edit(sheet, {}, withdrawn="Entered twice")
    assert show.set_artist.send(mine)[0]["result"] == "stored"
    assert show.continuity.conflicts() == []


def test_a_colliding_edit_of_a_withdrawn_record_shows_both_values(show: Show, sheet: Sheet) -> None:
    theirs = show.head.edit(sheet, {"note": "Theirs"})
    taken_back = show.head.edit(theirs, {}, withdrawn="Entered twice")
    show.head.send_ok(theirs, taken_back)
    mine = show.set_artist.edit(sheet, {"note": "Mine"})
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    (conflict,) = show.head.conflicts()
    assert conflict["sort"] == "edit_of_withdrawn"
    assert conflict["fields_collided"] == [{"path": ["note"], "kept": "Theirs", "offered": "Mine"}]
    assert_kept_once(show, sheet, theirs, taken_back, mine)


def test_a_stale_edit_that_would_break_the_document_is_refused_whole(show: Show, sheet: Sheet) -> None:
    mine = show.set_artist.edit(sheet, {"date": None})
    result = show.set_artist.send(mine)[0]
    assert (result["result"], result["code"], result["field"]) == ("refused", "not_a_document", "date")
    assert_kept_once(show, sheet)


def test_a_conflict_is_settled_in_a_persons_words(show: Show, sheet: Sheet) -> None:
    show.head.send_ok(show.head.edit(sheet, {"note": "Theirs"}))
    show.set_artist.send(show.set_artist.edit(sheet, {"note": "Mine"}))
    (conflict,) = show.head.records("conflict")
    settled = {"words": "Theirs is right", "by": show.continuity.crew}
    entry = show.continuity.entry("conflict", {"settled": settled}, conflict["id"], conflict["revision"])
    show.continuity.send_ok(entry)
    assert show.set_artist.conflicts()[0]["settled"] == settled
    assert_kept_once(show, sheet, entry)


def test_nothing_else_of_a_conflict_is_written_by_hand(show: Show, sheet: Sheet) -> None:
    show.head.send_ok(show.head.edit(sheet, {"note": "Theirs"}))
    show.set_artist.send(show.set_artist.edit(sheet, {"note": "Mine"}))
    (conflict,) = show.head.records("conflict")
    before = conflict["document"]
    patches: list[Sheet] = [{"fields_collided": []}, {"sort": "copy_applied_twice"}, {"entry": sheet["id"]}]
    for patch in patches:
        entry = show.head.entry("conflict", patch, conflict["id"], conflict["revision"])
        assert show.head.send(entry)[0]["code"] == "not_allowed"
    stranger = {"settled": {"words": "Mine", "by": new_id()}}
    entry = show.head.entry("conflict", stranger, conflict["id"], conflict["revision"])
    assert show.head.send(entry)[0]["code"] == "unknown_reference"
    assert show.head.conflicts() == [before]
