"""Photos follow their record in pieces, over a bad network, and are kept once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from continuity.photos import services
from continuity.photos.models import Photo, PhotoFile
from tests.builders import PIECE, Account, Show, another_phone, assert_kept_once, photo, photos, sha256_of
from tests.photos.pictures import jpeg, noisy_jpeg
from tests.photos.worker import prepare_photos

Json = dict[str, Any]


def _files(show: Show, entry: Json) -> Json:
    files: Json = show.head.record(entry["record"])["derived"]["files"]
    return files


def _stored_files() -> list[Path]:
    return sorted(path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def _sheet_with(show: Show, *raw: bytes, copy: int = 0) -> Json:
    entry = show.application(show.copies[copy], photos=photos(*(photo(each) for each in raw)))
    show.set_artist.send_ok(entry)
    return entry


def test_the_record_first_then_its_files(show: Show) -> None:
    one, two = jpeg(seed=1), jpeg(seed=2)
    entry = _sheet_with(show, one, two)
    assert _files(show, entry) == {sha256_of(one): "awaited", sha256_of(two): "awaited"}
    answer = show.set_artist.send_file(one)
    assert (answer.status, answer.body["answer"], answer.body["state"]) == (200, "file", "stored")
    assert _files(show, entry) == {sha256_of(one): "stored", sha256_of(two): "awaited"}
    show.set_artist.send_file(two)
    assert set(_files(show, entry).values()) == {"stored"}
    assert_kept_once(show, entry)


def test_a_file_no_record_names_is_not_expected_yet(show: Show) -> None:
    raw = jpeg()
    answers = [show.set_artist.send_file(raw), show.set_artist.file_status(sha256_of(raw))]
    for answer in answers:
        assert (answer.status, answer.body["code"]) == (404, "not_expected")
        assert answer.body["retryable"] is True
    assert _stored_files() == []


def test_it_goes_on_from_half_way_after_the_network_broke(show: Show) -> None:
    raw = noisy_jpeg(PIECE + 1000)
    entry = _sheet_with(show, raw)
    assert show.set_artist.send_piece(raw, 0, PIECE).body["state"] == "awaited"
    # Another day, another network: the phone asks how much has come.
    status = another_phone(show.set_artist).file_status(sha256_of(raw)).body
    assert (status["state"], status["received"]) == ("awaited", PIECE)
    offset = PIECE
    while offset < len(raw):
        answer = show.set_artist.send_piece(raw, offset, min(offset + PIECE, len(raw)))
        offset = answer.body["received"]
    assert answer.body["state"] == "stored"
    assert set(_files(show, entry).values()) == {"stored"}
    assert [path.name for path in _stored_files()] == ["original.jpg"]
    assert _stored_files()[0].read_bytes() == raw
    prepare_photos()
    assert [path.name for path in _stored_files()] == [
        "full.jpg",
        "large.webp",
        "original.jpg",
        "small.webp",
    ]


def test_a_piece_whose_answer_was_lost_is_told_where_to_go_on(show: Show) -> None:
    raw = noisy_jpeg(PIECE + 1000)
    _sheet_with(show, raw)
    show.set_artist.send_piece(raw, 0, 1000)
    for first, last in ((0, 1000), (2000, 3000), (999, 2000)):
        again = show.set_artist.send_piece(raw, first, last)
        assert (again.status, again.body["code"], again.body["field"]) == (409, "wrong_offset", "1000")
        assert again.body["retryable"] is True
    assert show.set_artist.file_status(sha256_of(raw)).body["received"] == 1000


def test_the_last_piece_sent_again_after_a_lost_answer(show: Show) -> None:
    raw = jpeg()
    _sheet_with(show, raw)
    show.set_artist.send_piece(raw, 0, 100)
    assert show.set_artist.send_piece(raw, 100, len(raw)).body["state"] == "stored"
    before = _stored_files()
    again = show.set_artist.send_piece(raw, 100, len(raw))
    assert (again.status, again.body["state"]) == (200, "stored")
    assert _stored_files() == before


def test_a_server_that_stops_while_it_puts_the_photo_away(
    show: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = jpeg()
    entry = _sheet_with(show, raw)

    def stop(*_: Any) -> Any:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(services, "keep", stop)
        with pytest.raises(KeyboardInterrupt):
            show.set_artist.send_file(raw)
    # The phone does as ever: it asks how much has come, and sends what is missing.
    status = show.set_artist.file_status(sha256_of(raw)).body
    assert status["state"] == "awaited"
    assert status["received"] < len(raw)
    answer = show.set_artist.send_piece(raw, status["received"], len(raw))
    assert answer.body["state"] == "stored"
    assert set(_files(show, entry).values()) == {"stored"}


def test_a_storage_that_does_not_take_the_photo(show: Show) -> None:
    """Its folder is a file: the disk refuses, whoever writes."""
    raw = jpeg()
    entry = _sheet_with(show, raw)
    in_the_way = Path(settings.MEDIA_ROOT) / "photos"
    in_the_way.parent.mkdir(parents=True)
    in_the_way.write_bytes(b"")
    answer = show.set_artist.send_file(raw)
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (503, "server_busy", True)
    assert _files(show, entry) == {sha256_of(raw): "awaited"}
    in_the_way.unlink()
    status = show.set_artist.file_status(sha256_of(raw)).body
    answer = show.set_artist.send_piece(raw, status["received"], len(raw))
    assert answer.body["state"] == "stored"
    assert _files(show, entry) == {sha256_of(raw): "stored"}


def test_other_bytes_than_the_record_names_start_over(show: Show) -> None:
    raw = jpeg()
    entry = _sheet_with(show, raw)
    broken = raw[:-10] + b"0123456789"
    answer = show.set_artist.send_piece(broken, 0, len(broken), sha256_of(raw))
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (422, "hash_mismatch", True)
    assert show.set_artist.file_status(sha256_of(raw)).body == {
        "answer": "file",
        "state": "awaited",
        "received": 0,
        "renditions": "to_be_made",
        "reason": "",
    }
    assert _stored_files() == []
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    assert set(_files(show, entry).values()) == {"stored"}


def test_another_length_than_the_record_names_is_refused(show: Show) -> None:
    raw = jpeg()
    _sheet_with(show, raw)
    answer = show.set_artist.send_piece(raw + b"more", 0, 100, sha256_of(raw))
    assert (answer.status, answer.body["code"], answer.body["field"]) == (
        422,
        "not_a_request",
        "Content-Range",
    )
    assert _stored_files() == []


@pytest.mark.parametrize("raw", [b"just a text", jpeg()[:-200], b"\xff\xd8\xff\xe0" + bytes(500)])
def test_what_is_no_picture_is_kept_and_said(show: Show, raw: bytes) -> None:
    entry = _sheet_with(show, raw)
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    cursor = show.head.cursor()
    prepare_photos()
    assert [change["id"] for change in show.head.changes(after=cursor)] == [entry["record"]]
    assert _files(show, entry) == {sha256_of(raw): "unreadable"}
    status = show.set_artist.file_status(sha256_of(raw)).body
    assert (status["state"], status["renditions"]) == ("stored", "failed")
    assert status["reason"]
    (kept,) = _stored_files()
    assert kept.read_bytes() == raw
    for rendition in ("small", "large", "full"):
        shown = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/{rendition}"))
        assert (shown.status, shown.body["code"]) == (404, "not_found")
        assert status["reason"] in shown.body["message"]
    # It stays as it is until somebody asks for it.
    assert prepare_photos() == 0
    assert_kept_once(show, entry)


def test_one_unreadable_photo_does_not_hold_up_the_others(show: Show) -> None:
    bad, good = b"just a text", jpeg()
    entry = _sheet_with(show, bad, good)
    show.set_artist.send_file(bad)
    assert show.set_artist.send_file(good).body["state"] == "stored"
    prepare_photos()
    assert _files(show, entry) == {sha256_of(bad): "unreadable", sha256_of(good): "stored"}
    assert show.head.account.get(show.head.path(f"photos/{sha256_of(good)}/small")).status == 200


def test_a_photo_that_has_come_and_is_not_made_yet(show: Show) -> None:
    raw = jpeg()
    _sheet_with(show, raw)
    path = show.head.path(f"photos/{sha256_of(raw)}/small")
    assert show.head.account.get(path).body["code"] == "not_found"
    show.set_artist.send_file(raw)
    for rendition in ("small", "large", "full"):
        answer = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/{rendition}"))
        assert (answer.status, answer.body["code"], answer.body["retryable"]) == (404, "not_ready", True)
    prepare_photos()
    assert show.head.account.get(path).status == 200


def test_the_same_photo_in_two_records_is_kept_once(show: Show) -> None:
    raw = jpeg()
    first = _sheet_with(show, raw)
    show.set_artist.send_file(raw)
    before = _stored_files()
    second = _sheet_with(show, raw, copy=1)
    assert _files(show, first) == _files(show, second) == {sha256_of(raw): "stored"}
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    assert _stored_files() == before
    assert PhotoFile.objects.count() == 1
    assert Photo.objects.count() == 2


def test_both_records_hear_that_the_photo_is_in(show: Show) -> None:
    raw = jpeg()
    first, second = _sheet_with(show, raw), _sheet_with(show, raw, copy=1)
    cursor = show.head.cursor()
    show.set_artist.send_file(raw)
    assert {change["id"] for change in show.head.changes(after=cursor)} == {
        first["record"],
        second["record"],
    }
    assert _files(show, first) == _files(show, second) == {sha256_of(raw): "stored"}


def test_a_photo_added_by_an_edit_is_expected_then(show: Show) -> None:
    entry = _sheet_with(show)
    raw = jpeg()
    assert show.set_artist.send_file(raw).body["code"] == "not_expected"
    show.set_artist.send_ok(show.set_artist.edit(entry, {"photos": photos(photo(raw))}))
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    assert _files(show, entry) == {sha256_of(raw): "stored"}


def test_the_session_is_lost_between_two_pieces(show: Show) -> None:
    raw = noisy_jpeg(PIECE + 1000)
    _sheet_with(show, raw)
    phone = show.set_artist
    phone.send_piece(raw, 0, PIECE)
    phone.account.raw("DELETE", "/api/session", b"")
    lost = phone.send_piece(raw, PIECE, len(raw))
    assert (lost.status, lost.body["code"], lost.body["retryable"]) == (401, "signed_out", True)
    phone.account = Account()
    phone.account.sign_in(phone.username)
    offset = phone.file_status(sha256_of(raw)).body["received"]
    assert offset == PIECE
    while offset < len(raw):
        answer = phone.send_piece(raw, offset, min(offset + PIECE, len(raw)))
        offset = answer.body["received"]
    assert answer.body["state"] == "stored"
