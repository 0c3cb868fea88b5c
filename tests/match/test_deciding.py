"""What is established, by whom, and what happens when two people say it at once; verdicts."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Json, Phone, Show, new_id, photo, photos, sha256_of


@pytest.fixture
def worn(show: Show) -> list[str]:
    """Three applications of the look."""
    entries = [show.application(copy) for copy in show.copies]
    show.set_artist.send_ok(*entries)
    return [entry["record"] for entry in entries]


def say(phone: Phone, show: Show, patch: Json, **more: Any) -> Json:
    """The result of an edit of the look by somebody who has seen all there is."""
    look = phone.record(show.look)
    entry = phone.entry("look", patch, show.look, look["revision"], seen=phone.cursor(), **more)
    return phone.send(entry)[0]


def established(show: Show) -> Any:
    document = show.shop.record(show.look)["document"]
    return document.get("established"), document.get("established_reason")


@pytest.mark.parametrize("role", ["continuity", "department_head"])
def test_continuity_and_the_head_establish(show: Show, worn: list[str], role: str) -> None:
    assert say(show.phone(role), show, {"established": worn[0]})["result"] == "stored"
    assert established(show) == (worn[0], None)


def test_the_artist_may_write_the_look_but_not_what_is_established(show: Show, worn: list[str]) -> None:
    result = say(show.set_artist, show, {"established": worn[0]})
    assert (result["result"], result["code"], result["field"]) == ("refused", "not_allowed", "established")
    assert established(show) == (None, None)
    say(show.continuity, show, {"established": worn[0]})
    assert say(show.set_artist, show, {"order_of_work": "Brow first"})["result"] == "stored"
    for patch in ({"established": None}, {"established": worn[1], "established_reason": "Mine is better"}):
        assert say(show.set_artist, show, patch)["code"] == "not_allowed"
    assert established(show) == (worn[0], None)


def test_another_one_needs_a_reason_of_its_own(show: Show, worn: list[str]) -> None:
    say(show.continuity, show, {"established": worn[0]})
    for patch in (
        {"established": worn[1]},
        {"established": worn[1], "established_reason": ""},
        {"established": worn[1], "established_reason": "   "},
        {"established": None},
    ):
        result = say(show.continuity, show, patch)
        assert (result["code"], result["field"]) == ("reason_missing", "established_reason"), patch
        assert established(show) == (worn[0], None)
    reason = "Reshot: the first was too red"
    assert (
        say(show.continuity, show, {"established": worn[1], "established_reason": reason})["result"]
        == "stored"
    )
    assert (
        say(show.continuity, show, {"established": worn[2], "established_reason": reason})["code"]
        == "reason_missing"
    )
    assert say(show.continuity, show, {"established": worn[2]})["code"] == "reason_missing"
    assert established(show) == (worn[1], reason)
    again = {"established": worn[1], "chair_minutes": 90}
    assert say(show.continuity, show, again)["result"] == "stored", "what stands needs none"


def test_one_that_is_of_another_look(show: Show, worn: list[str]) -> None:
    other = show.head.make("look", {"character": show.character, "name": "Healed"})
    entry = show.head.entry("look", {"established": worn[0]}, other, show.head.record(other)["revision"])
    result = show.head.send(entry)[0]
    assert (result["code"], result["field"]) == ("another_look", "established")
    new = show.head.entry("look", {"character": show.character, "name": "New", "established": worn[0]})
    assert show.head.send(new)[0]["code"] == "another_look"


def test_one_that_is_not_there(show: Show, worn: list[str]) -> None:
    for nothing in (new_id(), show.scene):
        assert say(show.head, show, {"established": nothing})["code"] == "unknown_reference"


def test_one_that_was_taken_back(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.set_artist.send_ok(entry, show.set_artist.edit(entry, {}, withdrawn="The wrong day"))
    result = say(show.head, show, {"established": entry["record"]})
    assert (result["code"], result["field"]) == ("another_look", "established")


def test_two_phones_establish_two_at_once(show: Show, worn: list[str]) -> None:
    """Neither knew of the other: the first stands, the second is kept and shown, reason and all."""
    look = show.continuity.record(show.look)
    seen = show.continuity.cursor()
    first, second = (
        phone.entry("look", patch, show.look, look["revision"], seen=seen)
        for phone, patch in (
            (show.continuity, {"established": worn[0]}),
            (show.head, {"established": worn[1], "established_reason": "The one on camera"}),
        )
    )
    assert show.continuity.send(first)[0]["result"] == "stored"
    assert show.head.send(second)[0]["result"] == "conflict"
    assert established(show) == (worn[0], None), "the reason for one does not come to stand beside the other"
    (conflict,) = show.continuity.conflicts()
    assert (conflict["sort"], conflict["about"]) == ("stale_edit", show.look)
    offered = {tuple(field["path"]): field["offered"] for field in conflict["fields_collided"]}
    assert offered == {("established",): worn[1], ("established_reason",): "The one on camera"}


def test_a_verdict_is_read_by_the_artist(show: Show, worn: list[str]) -> None:
    raw = b"a photo"
    entry = show.set_artist.edit(
        {"kind": "application", "record": worn[1], "id": show.head.record(worn[1])["revision"]},
        {"photos": photos(photo(raw))},
    )
    show.set_artist.send_ok(entry)
    pin = {"sha256": sha256_of(raw), "x": 0.25, "y": 0.5, "words": "Too red here"}
    made = show.continuity.make(
        "verdict",
        {
            "application": worn[1],
            "verdict": "does_not_match",
            "against": worn[0],
            "note": "Redder than yesterday",
            "pins": {new_id(): pin},
        },
    )
    shown = show.set_artist.record(made)["document"]
    assert (shown["verdict"], shown["against"], shown["note"]) == (
        "does_not_match",
        worn[0],
        "Redder than yesterday",
    )
    assert list(shown["pins"].values()) == [pin]


def test_a_pin_is_not_stuck_to_the_skin_after_removal(show: Show) -> None:
    """Its words would tell everybody of it."""
    raw = b"a photo"
    entry = show.application(show.copies[0], photos=photos(photo(raw, moment="removed")))
    show.set_artist.send_ok(entry)
    pin = {"sha256": sha256_of(raw), "x": 0.25, "y": 0.5, "words": "A rash"}
    verdict = {"application": entry["record"], "verdict": "matches", "pins": {new_id(): pin}}
    result = show.head.send(show.head.entry("verdict", verdict))[0]
    assert (result["code"], result["field"]) == ("not_allowed", "pins")


def test_bounds_of_colour_rise(show: Show) -> None:
    production = show.head.record(show.production)
    wrong: list[Json] = [
        {"colour_not_visible": 2.0},
        {"colour_close": 0.5},
        {"colour_visible": 1.0},
        {"colour_visible": 0},
        {"colour_close": -1},
        {"colour_close": "2"},
        {"colour_visible": 101},
        {"colour_not_visible": True},
        {"colour_not_visible": []},
        {"colour_not_visible": {}},
    ]
    for bounds in wrong:
        entry = show.head.entry("production", bounds, show.production, production["revision"])
        assert show.head.send(entry)[0]["code"] == "not_a_document", bounds
    good = {"colour_not_visible": 0.5, "colour_close": 1.5, "colour_visible": 3.5}
    show.head.send_ok(show.head.entry("production", good, show.production, production["revision"]))
