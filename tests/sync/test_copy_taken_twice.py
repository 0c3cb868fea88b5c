"""Two phones without a network take the same copy: both sheets stay, both are shown, a person settles it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from continuity.stock.models import Copy, CopyChange
from tests.builders import Show, assert_kept_once, new_id

Json = dict[str, Any]


def _state(show: Show, copy: str) -> str:
    state: str = show.head.record(copy)["derived"]["state"]
    assert Copy.objects.get(id=copy).state == state
    return state


def _flags(show: Show, entry: Json) -> list[str]:
    flags: list[str] = show.head.record(entry["record"])["derived"]["flags"]
    return flags


def _two_sheets(show: Show) -> tuple[Json, Json]:
    mine, theirs = show.application(show.copies[0]), show.application(show.copies[0], phone=show.head)
    assert show.set_artist.send(mine)[0]["result"] == "stored"
    assert show.head.send(theirs)[0]["result"] == "conflict"
    return mine, theirs


def test_both_are_kept_and_the_later_is_flagged(show: Show) -> None:
    mine, theirs = _two_sheets(show)
    assert (_flags(show, mine), _flags(show, theirs)) == ([], ["copy_applied_twice"])
    (conflict,) = show.continuity.conflicts()
    assert conflict["sort"] == "copy_applied_twice"
    assert (conflict["about"], conflict["other"]) == (theirs["record"], mine["record"])
    assert conflict["copy_used"] == show.copies[0]
    assert _state(show, show.copies[0]) == "applied"
    derived = show.head.record(show.copies[0])["derived"]
    assert derived["applications"] == sorted([mine["record"], theirs["record"]])
    assert_kept_once(show, mine, theirs)


def test_the_later_is_warned_of_a_used_copy_and_the_first_is_not(show: Show) -> None:
    mine, theirs = _two_sheets(show)
    codes = [
        [warning["code"] for warning in show.head.record(sheet["record"])["derived"]["warnings"]]
        for sheet in (mine, theirs)
    ]
    assert codes == [[], ["copy_already_used"]]


def test_settled_by_choosing_another_serial(show: Show) -> None:
    mine, theirs = _two_sheets(show)
    (item,) = theirs["patch"]["copies"]
    other = show.head.edit(theirs, {"copies": {item: {"copy_used": show.copies[1]}}})
    assert show.head.send(other)[0]["result"] == "stored"
    assert (_flags(show, mine), _flags(show, theirs)) == ([], [])
    assert [_state(show, copy) for copy in show.copies] == ["applied", "applied", "on_set"]
    assert show.head.record(show.copies[0])["derived"]["applications"] == [mine["record"]]
    assert_kept_once(show, mine, theirs, other)


def test_settled_when_the_first_gives_the_copy_up(show: Show) -> None:
    mine, theirs = _two_sheets(show)
    (item,) = mine["patch"]["copies"]
    given_up = show.set_artist.edit(mine, {"copies": {item: {"copy_used": show.copies[2]}}})
    assert show.set_artist.send(given_up)[0]["result"] == "stored"
    assert (_flags(show, mine), _flags(show, theirs)) == ([], [])
    assert [_state(show, copy) for copy in show.copies] == ["applied", "on_set", "applied"]
    assert show.head.record(show.copies[0])["derived"]["applications"] == [theirs["record"]]
    assert_kept_once(show, mine, theirs, given_up)


def test_settled_when_one_sheet_is_taken_back(show: Show) -> None:
    mine, theirs = _two_sheets(show)
    back = show.set_artist.edit(mine, {}, withdrawn="It was the other trailer's")
    assert show.set_artist.send(back)[0]["result"] == "stored"
    assert _flags(show, theirs) == []
    assert _state(show, show.copies[0]) == "applied"
    assert show.head.record(show.copies[0])["derived"]["applications"] == [theirs["record"]]
    assert_kept_once(show, mine, theirs, back)


def test_a_sheet_taken_back_gives_its_copy_back(show: Show) -> None:
    mine = show.application(show.copies[0])
    back = show.set_artist.edit(mine, {}, withdrawn="Did not shoot; the copy was not touched")
    show.set_artist.send_ok(mine, back)
    assert _state(show, show.copies[0]) == "on_set"
    assert show.head.record(show.copies[0])["derived"]["applications"] == []
    assert show.head.send(show.application(show.copies[0], phone=show.head))[0]["result"] == "stored"


def test_three_sheets_with_one_copy(show: Show) -> None:
    sheets = [show.application(show.copies[0]) for _ in range(3)]
    results = [show.set_artist.send(sheet)[0]["result"] for sheet in sheets]
    assert results == ["stored", "conflict", "conflict"]
    assert [bool(_flags(show, sheet)) for sheet in sheets] == [False, True, True]
    show.set_artist.send_ok(show.set_artist.edit(sheets[0], {}, withdrawn="Entered twice"))
    assert [bool(_flags(show, sheet)) for sheet in sheets[1:]] == [False, True]
    assert_kept_once(show, *sheets)


def test_a_copy_chosen_later_that_is_taken_opens_a_conflict_too(show: Show) -> None:
    mine, theirs = show.application(show.copies[0]), show.application(show.copies[1])
    show.set_artist.send_ok(mine, theirs)
    (item,) = theirs["patch"]["copies"]
    edit = show.set_artist.edit(theirs, {"copies": {item: {"copy_used": show.copies[0]}}})
    assert show.set_artist.send(edit)[0]["result"] == "conflict"
    assert _flags(show, theirs) == ["copy_applied_twice"]
    assert [_state(show, copy) for copy in show.copies[:2]] == ["applied", "on_set"]
    assert_kept_once(show, mine, theirs, edit)


def test_a_copy_goes_from_applied_to_used_up_and_a_spoiled_one_is_damaged(show: Show) -> None:
    sheet = show.application(show.copies[0])
    sheet["patch"]["copies"][new_id()] = {
        "copy_used": show.copies[1],
        "outcome": "spoiled",
        "why": "Torn edge",
    }
    show.set_artist.send_ok(sheet)
    assert [_state(show, copy) for copy in show.copies] == ["applied", "damaged", "on_set"]
    show.set_artist.send_ok(show.set_artist.edit(sheet, {"removed_at": "2026-11-25T18:00:00Z"}))
    assert [_state(show, copy) for copy in show.copies] == ["used_up", "damaged", "on_set"]
    history = CopyChange.objects.filter(copy_id=UUID(show.copies[0])).order_by("id")
    assert [(change.from_state, change.to_state) for change in history] == [
        ("", "on_set"),
        ("on_set", "applied"),
        ("applied", "used_up"),
    ]
    assert {str(change.by_id) for change in history} == {show.head.crew, show.set_artist.crew}


def test_what_is_told_of_a_copy_does_not_outdo_the_sheet_that_has_it(show: Show) -> None:
    sheet = show.application(show.copies[0])
    show.set_artist.send_ok(sheet)
    copy = show.shop.record(show.copies[0])
    told = show.shop.entry("copy", {"state": "shop"}, copy["id"], copy["revision"])
    assert show.shop.send(told)[0]["result"] == "stored"
    assert _state(show, show.copies[0]) == "applied"
    assert show.head.record(show.copies[0])["document"]["state"] == "shop"
    show.set_artist.send_ok(show.set_artist.edit(sheet, {}, withdrawn="Entered twice"))
    assert _state(show, show.copies[0]) == "shop"
