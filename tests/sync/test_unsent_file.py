"""A phone that dies hands its file in by another way: nothing is lost, nothing is stored twice."""

from __future__ import annotations

import json

import pytest

from continuity.sync.models import Entry
from tests.builders import (
    Show,
    assert_kept_once,
    make_show,
    photo,
    photos,
    sha256_of,
    table_counts,
    unsent_file,
)
from tests.photos.pictures import jpeg, noisy_jpeg
from tests.photos.worker import prepare_photos


def test_entries_and_photos_are_taken_in(show: Show) -> None:
    small, large = jpeg(), noisy_jpeg(1_200_000)
    first = show.application(show.copies[0], photos=photos(photo(small), photo(large)))
    second = show.set_artist.edit(first, {"note": "Last words of a phone"})
    answer = show.head.hand_in(unsent_file(show.set_artist, [first, second], [small, large]))
    assert (answer.status, answer.body["answer"]) == (200, "unsent")
    assert [result["result"] for result in answer.body["results"]] == ["stored", "stored"]
    assert [(each["sha256"], each["state"]) for each in answer.body["photos"]] == [
        (sha256_of(small), "stored"),
        (sha256_of(large), "stored"),
    ]
    record = show.head.record(first["record"])
    assert record["document"]["note"] == "Last words of a phone"
    assert set(record["derived"]["files"].values()) == {"stored"}
    assert Entry.objects.get(id=first["id"]).device.urn.endswith(show.set_artist.device)
    assert_kept_once(show, first, second)


def test_the_same_file_twice(show: Show) -> None:
    raw = jpeg()
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    file = unsent_file(show.set_artist, [entry], [raw])
    show.head.hand_in(file)
    before = table_counts()
    again = show.head.hand_in(file)
    assert [result["result"] for result in again.body["results"]] == ["repeat"]
    assert [each["state"] for each in again.body["photos"]] == ["stored"]
    assert table_counts() == before
    assert_kept_once(show, entry)


def test_the_phone_comes_back_to_life_and_sends_it_too(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.head.hand_in(unsent_file(show.set_artist, [entry]))
    assert show.set_artist.send(entry)[0]["result"] == "repeat"
    assert_kept_once(show, entry)


def test_half_of_a_photo_had_come_before(show: Show) -> None:
    raw = noisy_jpeg(600_000)
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    show.set_artist.send_ok(entry)
    show.set_artist.send_piece(raw, 0, 300_000)
    answer = show.head.hand_in(unsent_file(show.set_artist, [entry], [raw]))
    assert answer.body["results"][0]["result"] == "repeat"
    assert answer.body["photos"][0]["state"] == "stored"
    assert_kept_once(show, entry)


def test_a_photo_that_is_no_picture_does_not_hold_up_the_rest(show: Show) -> None:
    bad, good = b"just a text", jpeg()
    entry = show.application(show.copies[0], photos=photos(photo(bad), photo(good)))
    answer = show.head.hand_in(unsent_file(show.set_artist, [entry], [bad, good]))
    assert [each["state"] for each in answer.body["photos"]] == ["stored", "stored"]
    prepare_photos()
    states = show.head.record(entry["record"])["derived"]["files"]
    assert states == {sha256_of(bad): "unreadable", sha256_of(good): "stored"}


def test_a_photo_that_no_record_names(show: Show) -> None:
    answer = show.head.hand_in(unsent_file(show.set_artist, [], [jpeg()]))
    assert [each["state"] for each in answer.body["photos"]] == ["refused"]


def test_one_refused_entry_leaves_the_others_standing(show: Show) -> None:
    good, bad = show.application(show.copies[0]), show.application(show.copies[1], date="tomorrow")
    answer = show.head.hand_in(unsent_file(show.set_artist, [bad, good]))
    assert [result["code"] for result in answer.body["results"]] == ["not_a_document", ""]
    assert_kept_once(show, good)


def test_more_entries_than_go_in_one_push(show: Show) -> None:
    entries = [show.set_artist.entry("material", {"name": f"Lot {n}", "use": "paint"}) for n in range(501)]
    answer = show.head.hand_in(unsent_file(show.set_artist, entries))
    assert [result["result"] for result in answer.body["results"]] == ["stored"] * 501
    assert_kept_once(show, *entries)


def test_another_productions_file(show: Show) -> None:
    elsewhere = make_show("Another show")
    file = unsent_file(elsewhere.set_artist, [elsewhere.application(elsewhere.copies[0])])
    before = table_counts()
    answer = show.head.hand_in(file)
    assert (answer.status, answer.body["code"]) == (422, "unreadable_file")
    assert table_counts() == before


@pytest.mark.parametrize(
    "broken",
    [b"{broken\n", b'{"entry": {}, "entry": {}}\n', b"[1, 2]\n", b'{"something": 1}\n', b"\xff\xfe\n"],
)
def test_a_broken_line_is_named_and_does_not_hold_up_the_others(show: Show, broken: bytes) -> None:
    entry, last = show.application(show.copies[0]), show.application(show.copies[1])
    file = unsent_file(show.set_artist, [entry]) + broken + json.dumps({"entry": last}).encode() + b"\n"
    results = show.head.hand_in(file).body["results"]
    assert [result["result"] for result in results] == ["stored", "refused", "stored"]
    assert (results[1]["id"], results[1]["code"]) == (None, "unreadable_file")
    assert "Line 3" in results[1]["message"]
    assert_kept_once(show, entry, last)


def test_a_cut_off_file_takes_in_what_is_whole(show: Show) -> None:
    raw = jpeg()
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    file = unsent_file(show.set_artist, [entry], [raw])
    results = show.head.hand_in(file[:-50]).body["results"]
    assert [(result["result"], result["code"]) for result in results] == [
        ("stored", ""),
        ("refused", "unreadable_file"),
    ]
    assert_kept_once(show, entry)
