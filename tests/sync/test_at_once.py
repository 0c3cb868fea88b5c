"""Several phones at the same moment, with real transactions."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connections, transaction

from continuity.people.models import Membership
from continuity.photos.models import PhotoFile
from continuity.stock.models import Copy
from continuity.sync.models import Entry
from continuity.sync.services import accept_entries
from tests.at_once import at_once
from tests.builders import (
    Show,
    another_phone,
    assert_feed_is_whole,
    assert_kept_once,
    make_show,
    new_id,
    photo,
    photos,
    sha256_of,
)
from tests.photos.pictures import jpeg, noisy_jpeg
from tests.photos.worker import prepare_photos

Json = dict[str, Any]


@pytest.fixture
def show(transactional_db: None) -> Iterator[Show]:
    yield make_show()
    connections.close_all()


def test_two_phones_take_the_same_copy(show: Show) -> None:
    mine, theirs = show.application(show.copies[0]), show.application(show.copies[0], phone=show.head)
    results = at_once(lambda: show.set_artist.send(mine)[0], lambda: show.head.send(theirs)[0])
    assert sorted(result["result"] for result in results) == ["conflict", "stored"]
    (conflict,) = show.head.conflicts()
    assert {conflict["about"], conflict["other"]} == {mine["record"], theirs["record"]}
    flags = [
        show.head.record(sheet["record"])["derived"]["flags"]
        for sheet in sorted((mine, theirs), key=lambda sheet: bool(sheet["record"] == conflict["about"]))
    ]
    assert flags == [[], ["copy_applied_twice"]]
    assert Copy.objects.get(id=show.copies[0]).state == "applied"
    assert_kept_once(show, mine, theirs)


def test_the_same_entry_from_two_connections(show: Show) -> None:
    entry = show.application(show.copies[0])
    twin = another_phone(show.set_artist)
    results = at_once(lambda: show.set_artist.send(entry)[0], lambda: twin.send(entry)[0])
    assert sorted(result["result"] for result in results) == ["repeat", "stored"]
    assert Entry.objects.filter(id=entry["id"]).count() == 1
    assert_kept_once(show, entry)


def test_the_same_id_in_two_productions(show: Show) -> None:
    elsewhere = make_show("Another show")
    mine = show.application(show.copies[0])
    theirs = {**elsewhere.application(elsewhere.copies[0]), "id": mine["id"], "record": mine["record"]}
    results = at_once(lambda: show.set_artist.send(mine)[0], lambda: elsewhere.set_artist.send(theirs)[0])
    assert sorted(result["result"] for result in results) == ["refused", "stored"]
    winner, loser = (show, elsewhere) if results[0]["result"] == "stored" else (elsewhere, show)
    assert [len(each.head.records("application")) for each in (winner, loser)] == [1, 0]
    assert_feed_is_whole(show)
    assert_feed_is_whole(elsewhere)


def test_the_same_serial_made_on_two_phones(show: Show) -> None:
    copy = {"appliance": show.appliance, "serial": "B9", "grade": "hero", "state": "on_set"}
    mine, theirs = show.set_artist.entry("copy", copy), show.shop.entry("copy", copy)
    results = at_once(lambda: show.set_artist.send(mine)[0], lambda: show.shop.send(theirs)[0])
    assert sorted(result["code"] for result in results) == ["", "serial_taken"]
    assert Copy.objects.filter(serial="B9").count() == 1
    assert_feed_is_whole(show)


def test_many_phones_at_once_and_one_of_them_sends_rubbish(show: Show) -> None:
    """Pushes that wait for each other are stored together; one that is wrong is not the others' fault."""
    phones = [another_phone(show.set_artist) for _ in range(8)]
    entries = [show.set_artist.entry("material", {"name": f"Lot {n}", "use": "paint"}) for n in range(40)]
    taken = show.set_artist.entry(
        "copy", {"appliance": show.appliance, "serial": "B1", "grade": "hero", "state": "on_set"}
    )
    shares = [[*entries[n::8], taken] if n == 3 else entries[n::8] for n in range(8)]
    work = [
        lambda phone=phone, share=share: [phone.send(entry)[0]["code"] for entry in share]
        for phone, share in zip(phones, shares, strict=True)
    ]
    codes = at_once(*work)
    assert codes[3].pop() == "serial_taken"
    assert {code for each in codes for code in each} == {""}
    assert_kept_once(show, *entries)


def test_a_reader_never_passes_a_place_that_is_not_committed(show: Show) -> None:
    first = show.set_artist.entry("material", {"name": "First", "use": "paint"})
    second = show.head.entry("material", {"name": "Second", "use": "paint"})
    numbered, commit = threading.Event(), threading.Event()
    sender = Membership.objects.get(id=show.set_artist.crew)
    cursor = show.head.cursor()

    def slow() -> None:
        with transaction.atomic():
            accept_entries(
                production_id=sender.production_id,
                sender=sender,
                device=sender.id,
                entries=[first],
            )
            numbered.set()
            assert commit.wait(20)

    def quick() -> str:
        assert numbered.wait(20)
        return str(show.head.send(second)[0]["result"])

    def reader() -> list[Json]:
        assert numbered.wait(20)
        # Long enough for the second to be stored before the first, if anything let it.
        until = time.monotonic() + 0.5
        seen: list[Json] = []
        while time.monotonic() < until:
            seen += show.continuity.changes(after=cursor)
        commit.set()
        return seen

    _, result, seen = at_once(slow, quick, reader)
    assert result == "stored"
    assert seen == []
    assert [change["id"] for change in show.continuity.changes(after=cursor)] == [
        first["record"],
        second["record"],
    ]


def test_a_reader_that_follows_its_cursor_misses_nothing(show: Show) -> None:
    writers = [another_phone(show.set_artist) for _ in range(3)]
    entries = [show.set_artist.entry("material", {"name": f"Lot {n}", "use": "paint"}) for n in range(45)]
    start = show.head.cursor()
    finished = threading.Event()

    def write(number: int) -> list[str]:
        return [writers[number].send(entry)[0]["result"] for entry in entries[number::3]]

    def read() -> list[str]:
        seen: list[str] = []
        cursor = start
        last = False
        while True:
            for change in show.continuity.changes(after=cursor, limit=7):
                seen.append(change["id"])
                cursor = change["seq"]
            if last:
                return seen
            last = finished.wait(0.01)

    def write_all() -> list[str]:
        try:
            results = at_once(*(lambda number=number: write(number) for number in range(3)))
            return [result for each in results for result in each]
        finally:
            finished.set()

    results, seen = at_once(write_all, read)
    assert set(results) == {"stored"}
    assert sorted(seen) == sorted(entry["record"] for entry in entries)
    assert_kept_once(show, *entries)


def _sheet_with(show: Show, *raw: bytes) -> Json:
    entry = show.application(show.copies[0], photos=photos(*(photo(each) for each in raw)))
    show.set_artist.send_ok(entry)
    return entry


def test_two_pieces_of_one_photo(show: Show) -> None:
    raw = noisy_jpeg(500_000)
    _sheet_with(show, raw)
    twin = another_phone(show.set_artist)
    first, second = at_once(
        lambda: show.set_artist.send_piece(raw, 0, 300_000), lambda: twin.send_piece(raw, 0, 200_000)
    )
    assert sorted([first.status, second.status]) == [200, 409]
    received = PhotoFile.objects.get().received
    assert received == (300_000 if first.status == 200 else 200_000)
    show.set_artist.send_piece(raw, received, 500_000)
    answer = show.set_artist.send_piece(raw, 500_000, len(raw))
    assert answer.body["state"] == "stored"


def test_the_last_piece_of_one_photo_twice(show: Show) -> None:
    raw = jpeg(800, 600)
    entry = _sheet_with(show, raw)
    twin = another_phone(show.set_artist)
    answers = at_once(
        lambda: show.set_artist.send_piece(raw, 0, len(raw)), lambda: twin.send_piece(raw, 0, len(raw))
    )
    assert [answer.body["state"] for answer in answers] == ["stored", "stored"]
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}
    prepare_photos()
    shown = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/full"))
    assert shown.status == 200


def test_photos_of_one_sheet_that_are_in_at_the_same_moment(show: Show) -> None:
    files = [jpeg(400, 300, seed=seed) for seed in range(6)]
    entry = _sheet_with(show, *files)
    phones = [another_phone(show.set_artist) for _ in files]
    at_once(
        *(lambda phone=phone, raw=raw: phone.send_file(raw) for phone, raw in zip(phones, files, strict=True))
    )
    states = show.head.record(entry["record"])["derived"]["files"]
    assert states == {sha256_of(raw): "stored" for raw in files}


def test_two_heads_leave_each_other_out(show: Show) -> None:
    """A production keeps one, whichever was quicker."""
    other = another_phone(show.head)
    second = {"username": f"h-{new_id()[-8:]}", "name": "Second", "password": "spirit and water 8"}
    answer = show.head.account.post(show.head.path("crew"), {**second, "role": "department_head"})
    second_crew = answer.body["crew"]
    answers = at_once(
        lambda: show.head.account.patch(show.head.path(f"crew/{show.head.crew}"), {"active": False}),
        lambda: other.account.patch(other.path(f"crew/{second_crew}"), {"active": False}),
    )
    heads = Membership.objects.filter(production_id=show.production, role="department_head", active=True)
    assert heads.count() == 1
    assert sorted(answer.status for answer in answers) in ([200, 404], [200, 409])
