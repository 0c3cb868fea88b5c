"""The server is restored from a backup: its feed goes back, and its numbers mean something else then."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import transaction

from continuity.photos.models import PhotoFile
from continuity.schedule.models import Production
from continuity.sync.models import Entry, Record
from continuity.sync.services import restate_records
from tests.builders import Json, Phone, Show, new_id, photo, photos, sha256_of


def changes(phone: Phone, before: Json | None = None) -> Json:
    """A page of the feed, from where the page before ended."""
    question = f"changes?after={before['cursor']}&mark={before['mark']}" if before else "changes?after=0"
    answer = phone.account.get(phone.path(question))
    assert answer.status == 200, answer.body
    return answer.body


def restore(production: str, place: int) -> None:
    """Leave the database as it was when the feed had come so far. All written since are new records."""
    Record.objects.filter(production_id=production, seq__gt=place).delete()
    Entry.objects.filter(production_id=production, seq__gt=place).delete()
    Production.objects.filter(id=production).update(last_seq=place)


def new_unit(show: Show, name: str) -> Json:
    entry = show.continuity.entry("unit", {"name": name})
    show.continuity.send_ok(entry)
    return entry


def test_a_phone_that_had_read_further_is_told_to_read_all_again(show: Show) -> None:
    backup = show.continuity.cursor()
    lost = new_unit(show, "Second")
    read = changes(show.set_artist)
    restore(show.production, backup)
    # The same number again, for something else: no phone can tell by the number.
    other = new_unit(show, "Splinter")
    new_unit(show, "Third")
    answer = changes(show.set_artist, read)
    assert answer["gone_back"] is True
    assert answer["changes"] == []
    assert answer["key"] != read["key"]
    anew = changes(show.set_artist)
    assert anew["key"] == read["key"]
    assert other["record"] in [change["id"] for change in anew["changes"]]
    assert lost["record"] not in [change["id"] for change in anew["changes"]]
    assert changes(show.set_artist, anew)["gone_back"] is False


def test_a_phone_that_had_not_read_further_goes_on(show: Show) -> None:
    read = changes(show.set_artist)
    new_unit(show, "Second")
    restore(show.production, read["cursor"])
    other = new_unit(show, "Splinter")
    answer = changes(show.set_artist, read)
    assert (answer["gone_back"], answer["key"]) == (False, read["key"])
    assert [change["id"] for change in answer["changes"]] == [other["record"]]


def test_a_phone_of_an_older_version_is_told_while_it_is_further_than_the_server(show: Show) -> None:
    backup = show.continuity.cursor()
    new_unit(show, "Second")
    read = changes(show.set_artist)
    restore(show.production, backup)
    answer = show.set_artist.account.get(show.set_artist.path(f"changes?after={read['cursor']}"))
    assert answer.body["key"] != read["key"]


def test_what_the_server_says_of_a_record_by_itself_does_not_go_back(show: Show) -> None:
    """A place that belongs to no entry is known again by the entry before it."""
    sheet = show.application(show.copies[0])
    show.set_artist.send_ok(sheet)
    read = changes(show.continuity)
    assert changes(show.continuity, read)["gone_back"] is False
    show.set_artist.send_ok(show.set_artist.edit(sheet, {"note": "On"}))
    answer = changes(show.continuity, read)
    assert answer["gone_back"] is False
    assert sheet["record"] in [change["id"] for change in answer["changes"]]


def test_a_phone_that_had_read_past_the_end_is_told_though_the_last_entry_stands(show: Show) -> None:
    """What the server says by itself has places of no entry: what comes at them would be passed over."""
    backup = show.continuity.cursor()
    last = UUID(show.continuity.changes()[-1]["id"])
    restate_records(production_id=UUID(show.production), derived={last: {"told": "by the server"}})
    read = changes(show.continuity)
    assert read["cursor"] > backup
    Record.objects.filter(id=last).update(seq=backup)
    Production.objects.filter(id=show.production).update(last_seq=backup)
    assert changes(show.continuity, read)["gone_back"] is True


def test_a_phone_is_told_which_of_its_entries_are_missing(show: Show) -> None:
    kept, lost = new_unit(show, "Second"), new_unit(show, "Splinter")
    held = show.continuity.entry("unit", {"name": "Third"}, kept["record"], new_id())
    assert show.continuity.send(held)[0]["result"] == "held"
    Record.objects.filter(id=lost["record"]).delete()
    Entry.objects.filter(id=lost["id"]).delete()
    asked = [lost["id"], kept["id"], held["id"], new_id()]
    answer = show.set_artist.account.post(show.set_artist.path("entries/missing"), {"ids": asked})
    assert (answer.status, answer.body) == (200, {"answer": "missing", "ids": [asked[0], asked[3]]})
    other = show.set_artist.account.post(show.set_artist.path("entries/missing"), {"ids": ["1"]})
    assert (other.status, other.body["code"]) == (422, "not_a_request")


@contextmanager
def lost_afterwards() -> Iterator[None]:
    """All that is written in here is lost, as it is to a server restored from a backup made before it."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def test_what_a_phone_gives_back_as_it_sent_it_is_taken_once(show: Show) -> None:
    """The steps of an order, and a copy taken back: the entries themselves, but for the place seen."""
    asked = {"raised_by": "hand", "copies": 2, "needed_on": "2026-12-20", "why": "For the poster"}
    order = show.head.entry("order", {"appliance": show.appliance, **asked})
    show.head.send_ok(order)
    casts, applies = show.shop, show.set_artist
    before = applies.record(show.copies[0])
    taken_on = casts.edit(order, {"state": "taken_on"})
    casting = casts.edit(taken_on, {"state": "casting"})
    taken_back = applies.entry("copy", {}, before["id"], before["revision"], withdrawn="Entered twice")
    with lost_afterwards():
        casts.send_ok({**taken_on, "seen": 999}, {**casting, "seen": 999})
        applies.send_ok({**taken_back, "seen": 999})
    assert casts.record(order["record"])["document"]["state"] == "asked_for"
    # The second comes first: it waits for the one it is based on.
    assert [result["result"] for result in casts.send(casting, taken_on)] == ["held", "stored"]
    applies.send_ok(taken_back)
    assert casts.record(order["record"])["document"]["state"] == "casting"
    assert applies.record(before["id"])["withdrawn"] is True
    again = [*casts.send(taken_on, casting), *applies.send(taken_back)]
    assert {result["result"] for result in again} == {"repeat"}
    assert applies.conflicts() == []


def test_a_photo_the_server_has_lost_comes_again_and_is_kept_once(show: Show) -> None:
    raw = b"a photo that was sent" * 100
    sheet = show.application(show.copies[0], photos=photos(photo(raw)))
    show.set_artist.send_ok(sheet)
    with lost_afterwards():
        assert show.set_artist.send_file(raw).body["state"] == "stored"
    told = show.set_artist.record(sheet["record"])["derived"]["files"]
    assert told == {sha256_of(raw): "awaited"}
    for phone in (show.set_artist, show.head):
        assert phone.send_file(raw).body["state"] == "stored"
    assert PhotoFile.objects.filter(sha256=sha256_of(raw)).count() == 1
    (kept,) = (Path(settings.MEDIA_ROOT) / "photos").rglob("original.*")
    assert kept.read_bytes() == raw


def test_a_photo_whose_file_alone_is_lost_is_asked_for_again(show: Show) -> None:
    """The files were put back from an older backup than the database."""
    raw = b"a photo that was sent" * 100
    sheet = show.application(show.copies[0], photos=photos(photo(raw)))
    show.set_artist.send_ok(sheet)
    show.set_artist.send_file(raw)
    assert show.set_artist.file_status(sha256_of(raw)).body["state"] == "stored"
    (kept,) = (Path(settings.MEDIA_ROOT) / "photos").rglob("original.*")
    kept.unlink()
    asked = show.set_artist.account.post(show.set_artist.path(f"files/{sha256_of(raw)}/retry"), {}).body
    assert (asked["state"], asked["received"]) == ("awaited", 0)
    assert show.head.record(sheet["record"])["derived"]["files"] == {sha256_of(raw): "awaited"}
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    assert kept.read_bytes() == raw


def test_a_mark_that_is_none_is_refused(show: Show) -> None:
    for mark in ("", "1", "' OR 1=1", "0" * 40):
        answer = show.set_artist.account.get(show.set_artist.path(f"changes?after=3&mark={mark}"))
        assert (answer.status, answer.body["code"], answer.body["field"]) == (422, "not_a_request", "mark")
