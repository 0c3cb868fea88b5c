"""The same thing sent twice is stored once, whoever sends it and whenever."""

from __future__ import annotations

import datetime
import uuid

from django.utils import timezone

from continuity.sync.models import Entry, Record
from tests.builders import Show, another_phone, assert_kept_once, new_id


def test_a_lost_answer_is_asked_for_again_and_nothing_is_stored_twice(show: Show) -> None:
    entry = show.application(show.copies[0])
    first = show.set_artist.send(entry)[0]
    # The phone never saw that answer, and sends the same again.
    again = show.set_artist.send(entry)[0]
    assert (first["result"], first["status"]) == ("stored", 201)
    assert (again["result"], again["status"]) == ("repeat", 200)
    assert first["revision"] == again["revision"] == entry["id"]
    assert Entry.objects.filter(record=entry["record"]).count() == 1
    assert_kept_once(show, entry)
    assert show.head.conflicts() == []


def test_the_same_entry_twice_in_one_push(show: Show) -> None:
    entry = show.application(show.copies[0])
    assert [result["result"] for result in show.set_artist.send(entry, entry)] == ["stored", "repeat"]
    assert_kept_once(show, entry)


def test_a_repeat_does_not_move_the_feed(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.set_artist.send(entry)
    cursor = show.head.cursor()
    show.set_artist.send(entry)
    assert show.head.changes(after=cursor) == []


def test_a_repeat_is_known_whatever_the_order_of_its_members(show: Show) -> None:
    entry = show.application(show.copies[0], note="Calm skin")
    show.set_artist.send(entry)
    turned = {
        **dict(reversed(entry.items())),
        "patch": dict(reversed(entry["patch"].items())),
    }
    assert show.set_artist.send(turned)[0]["result"] == "repeat"


def test_a_repeat_is_known_after_weeks_and_from_another_device(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.set_artist.send(entry)
    Entry.objects.filter(id=entry["id"]).update(received_at=timezone.now() - datetime.timedelta(weeks=60))
    assert another_phone(show.set_artist).send(entry)[0]["result"] == "repeat"
    assert_kept_once(show, entry)


def test_the_same_id_with_another_body_is_refused_aloud(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.set_artist.send(entry)
    other = {**entry, "patch": {**entry["patch"], "note": "Something else"}}
    result = show.set_artist.send(other)[0]
    assert (result["result"], result["status"], result["code"]) == ("refused", 409, "body_mismatch")
    assert result["retryable"] is False
    assert "note" not in Record.objects.get(id=entry["record"]).document
    assert_kept_once(show, entry)


def test_a_second_birth_of_a_record_is_refused(show: Show) -> None:
    entry = show.application(show.copies[0])
    twin = {**entry, "id": new_id()}
    results = show.set_artist.send(entry, twin)
    assert [result["code"] for result in results] == ["", "record_exists"]
    assert_kept_once(show, entry)


def test_one_bad_entry_does_not_block_the_others(show: Show) -> None:
    good, bad, last = (show.application(copy) for copy in show.copies)
    bad["patch"]["look"] = new_id()
    results = show.set_artist.send(good, bad, last)
    assert [result["result"] for result in results] == ["stored", "refused", "stored"]
    assert results[1]["code"] == "unknown_reference"
    assert not Entry.objects.filter(id=bad["id"]).exists()
    assert_kept_once(show, good, last)


def test_the_id_of_rfc_9562_is_taken(show: Show) -> None:
    # RFC 9562 (2024), appendix A.6: an example of a UUID of version 7.
    example = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"
    assert uuid.UUID(example).version == 7
    entry = {**show.application(show.copies[0]), "record": example}
    assert show.set_artist.send(entry)[0]["result"] == "stored"
    assert show.head.record(example.lower())["kind"] == "application"


def test_both_clocks_are_kept(show: Show) -> None:
    before = timezone.now()
    entry = show.application(show.copies[0])
    entry["happened_at"] = "2026-11-20T05:00:00+02:00"
    show.set_artist.send(entry)
    record = show.head.record(entry["record"])
    assert datetime.datetime.fromisoformat(record["happened_at"]) == datetime.datetime.fromisoformat(
        "2026-11-20T03:00:00+00:00"
    )
    assert before <= datetime.datetime.fromisoformat(record["received_at"]) <= timezone.now()
