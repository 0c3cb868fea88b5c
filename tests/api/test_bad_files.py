"""Files that are not what they say: never shown, never a fault of the server."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.api.test_bad_bodies import assert_refused
from tests.builders import Show, new_id, photo, photos, sha256_of, table_counts, unsent_file
from tests.photos.pictures import SVG, bomb_png, drawing, encoded, heic, jpeg
from tests.photos.worker import prepare_photos

Json = dict[str, Any]


def _expect(show: Show, raw: bytes, media_type: str = "image/jpeg") -> None:
    show.set_artist.send_ok(show.application(photos=photos(photo(raw, media_type))))


def _kept() -> list[Path]:
    return sorted(path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


NO_PICTURES: dict[str, tuple[bytes, str]] = {
    "SVG with a script named .jpg": (SVG, "image/jpeg"),
    "SVG named .heic": (SVG, "image/heic"),
    "a cut off HEIC": (heic(drawing(200, 200))[:-60], "image/heic"),
    "a JPEG that says it is a HEIC": (jpeg(400, 300), "image/heic"),
    "a HEIC with nothing behind its heading": (heic(drawing(200, 200))[:24], "image/heif"),
    "a HEIC that says it is a JPEG": (heic(drawing(200, 200)), "image/jpeg"),
    "a text named .jpg": (b"Dear all, this is a text.", "image/jpeg"),
    "one byte": (b"\xff", "image/jpeg"),
    "SVG": (SVG, "image/png"),
    "HTML": (b"<!doctype html><script>alert(1)</script>", "image/webp"),
    "a cut off JPEG": (jpeg(400, 300)[:1500], "image/jpeg"),
    "a cut off PNG": (encoded(drawing(200, 200), "PNG")[:-60], "image/png"),
    "a cut off WebP": (encoded(drawing(200, 200), "WEBP")[:-60], "image/webp"),
    "a PNG that says it is a JPEG": (encoded(drawing(), "PNG"), "image/jpeg"),
    "a GIF": (encoded(drawing(), "GIF"), "image/png"),
    "a TIFF": (encoded(drawing(), "TIFF"), "image/jpeg"),
    "a bomb of 3.6 thousand million pixels": (bomb_png(60_000, 60_000), "image/png"),
    "a bomb that is one line": (bomb_png(2_000_000_000, 1), "image/png"),
    "one pixel too many in a row": (bomb_png(50_000_001, 1), "image/png"),
    "no pixels": (bomb_png(0, 0), "image/png"),
    "a JPEG with a broken middle": (jpeg(400, 300)[:300] + bytes(200) + b"\xff\xd9", "image/jpeg"),
}


@pytest.mark.parametrize("name", NO_PICTURES)
def test_what_is_no_picture_is_never_shown(show: Show, name: str) -> None:
    raw, media_type = NO_PICTURES[name]
    _expect(show, raw, media_type)
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    prepare_photos()
    status = show.set_artist.file_status(sha256_of(raw)).body
    assert (status["state"], status["renditions"]) == ("stored", "failed")
    assert status["reason"]
    # What was sent is kept, and nothing was made of it.
    (kept,) = _kept()
    assert kept.read_bytes() == raw
    for rendition in ("small", "large", "full"):
        shown = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/{rendition}"))
        assert (shown.status, shown.body["code"]) == (404, "not_found")


def test_a_file_of_no_bytes_cannot_even_be_announced(show: Show) -> None:
    entry = show.application(photos=photos(photo(b"")))
    (result,) = show.set_artist.send(entry)
    assert (result["result"], result["code"]) == ("refused", "not_a_document")
    answer = show.set_artist.account.raw(
        "PUT",
        show.set_artist.path(f"files/{sha256_of(b'')}"),
        b"",
        "application/octet-stream",
        Content_Range="bytes 0-0/1",
    )
    assert_refused(answer)
    assert _kept() == []


@pytest.mark.parametrize("order", ["picture first", "page first"])
def test_a_file_that_is_two_things_at_once(show: Show, order: str) -> None:
    """A JPEG with a page and an archive behind it is a picture, and only the picture is served; one with them
    in front is none."""
    payload = b"<!doctype html><script>alert(1)</script>PK\x03\x04"
    raw = jpeg(400, 300) + payload if order == "picture first" else payload + jpeg(400, 300)
    _expect(show, raw)
    show.set_artist.send_file(raw)
    prepare_photos()
    for rendition in ("small", "large", "full"):
        path = show.head.path(f"photos/{sha256_of(raw)}/{rendition}")
        response = show.head.account.client.get(path)
        if order == "page first":
            assert response.status_code == 404
            continue
        content = b"".join(response.streaming_content)  # type: ignore[attr-defined]
        assert response.headers["Content-Type"].startswith("image/")
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert b"script" not in content
        assert b"PK\x03\x04" not in content


RANGES = [
    "",
    "bytes",
    "bytes 0-9",
    "bytes 0-9/*",
    "bytes */10",
    "bytes 9-0/10",
    "bytes a-b/c",
    "items 0-9/10",
    "bytes 0-9/10, 10-19/20",
    "bytes -1-9/10",
    "bytes 0-9/99999999999999999999",
    "bytes 0-8/10",
    "bytes 0-10/11",
    "bytes 5-14/15",
    "bytes ٠-٩/10",
]


def test_a_piece_that_does_not_say_where_it_belongs(show: Show) -> None:
    raw = b"0123456789"
    _expect(show, raw)
    before = table_counts()
    for content_range in RANGES:
        answer = show.set_artist.account.raw(
            "PUT",
            show.set_artist.path(f"files/{sha256_of(raw)}"),
            raw,
            "application/octet-stream",
            Content_Range=content_range,
        )
        assert_refused(answer)
        assert table_counts() == before, content_range
    assert show.set_artist.file_status(sha256_of(raw)).body["received"] == 0
    assert _kept() == []


@pytest.mark.parametrize(
    ("body", "content_type"),
    [
        (b"", "application/octet-stream"),
        (b"0123456789", "application/json"),
        (b"0123456789", "image/jpeg"),
        (b"0123456789", "multipart/form-data; boundary=x"),
        (b"0" * 1_048_577, "application/octet-stream"),
        (b"0" * 10_000_000, "application/octet-stream"),
    ],
)
def test_a_piece_that_is_none(show: Show, body: bytes, content_type: str) -> None:
    raw = b"0123456789"
    _expect(show, raw)
    length = max(len(body), 1)
    answer = show.set_artist.account.raw(
        "PUT",
        show.set_artist.path(f"files/{sha256_of(raw)}"),
        body,
        content_type,
        Content_Range=f"bytes 0-{length - 1}/{length}",
    )
    assert_refused(answer)
    assert show.set_artist.file_status(sha256_of(raw)).body["received"] == 0
    assert _kept() == []


@pytest.mark.parametrize("sha256", ["A" * 64, "a" * 63, "..%2f..%2fetc%2fpasswd", "a" * 64 + "/x", "%00"])
def test_an_address_that_is_no_hash(show: Show, sha256: str) -> None:
    answer = show.set_artist.account.get(show.set_artist.path(f"files/{sha256}"))
    assert (answer.status, answer.body["code"]) == (404, "not_found")


@pytest.mark.parametrize("rendition", ["huge", "..", "full.jpg", ""])
def test_a_rendition_there_is_none_of(show: Show, rendition: str) -> None:
    answer = show.head.account.get(show.head.path(f"photos/{'a' * 64}/{rendition}"))
    assert (answer.status, answer.body["code"]) == (404, "not_found")


# -- files of what was not sent -----------------------------------------------------------------------


def _heading(show: Show, **change: Any) -> bytes:
    heading = {"continuity_unsent": 1, "production": show.production, "device": new_id()}
    return json.dumps({**heading, **change}).encode() + b"\n"


HEADINGS: list[Json] = [
    {"continuity_unsent": 2},
    {"continuity_unsent": None},
    {"continuity_unsent": "1"},
    {"production": new_id()},
    {"production": None},
    {"production": 7},
    {"device": None},
    {"device": 7},
    {"device": "not-an-id"},
    {"device": []},
]


def test_a_file_with_a_heading_that_is_none(show: Show) -> None:
    entry = show.application(show.copies[0])
    before = table_counts()
    line = json.dumps({"entry": entry}).encode() + b"\n"
    for change in HEADINGS:
        answer = show.head.hand_in(_heading(show, **change) + line)
        assert_refused(answer)
        assert answer.body["code"] == "unreadable_file", change
        assert table_counts() == before


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\n\n",
        b"\xff\xd8\xff\xe0",
        b"PK\x03\x04",
        b"[]\n",
        b"null\n",
        b'"text"\n',
        b"[" * 100_000,
        b'{"continuity_unsent": NaN}\n',
        b'{"a": "' + b"x" * 10_000_000 + b'"}\n',
        "{}".encode("utf-16"),
    ],
)
def test_a_file_that_is_none(show: Show, raw: bytes) -> None:
    before = table_counts()
    answer = show.head.hand_in(raw)
    assert_refused(answer)
    assert answer.body["code"] == "unreadable_file"
    assert table_counts() == before


@pytest.mark.parametrize(
    "content_type", ["application/json", "text/plain", "multipart/form-data; boundary=x"]
)
def test_a_file_of_another_type(show: Show, content_type: str) -> None:
    file = unsent_file(show.set_artist, [show.application(show.copies[0])])
    before = table_counts()
    answer = show.head.account.raw("POST", show.head.path("unsent"), file, content_type)
    assert_refused(answer)
    assert table_counts() == before


NO_LINES: list[Any] = [
    {"entry": None},
    {"entry": 7},
    {"entry": []},
    {"entry": {}},
    {"entry": {"id": 7}},
    {"photo": None},
    {"photo": 7},
    {"photo": "text"},
    {"photo": []},
    {"photo": {}},
    {"photo": {"sha256": 7, "base64": "AAAA"}},
    {"photo": {"sha256": "a" * 64, "base64": 7}},
    {"photo": {"sha256": "a" * 64, "base64": "not base64!"}},
    {"photo": {"sha256": "a" * 64, "base64": "é"}},
    {"photo": {"sha256": "x" * 5000, "base64": "AAAA"}},
    {"photo": {"sha256": "../../etc/passwd", "base64": "AAAA"}},
    {"photo": {"sha256": None, "base64": ""}},
    {"neither": 1},
    [],
    7,
    None,
]


def test_lines_that_are_none_are_refused_one_by_one(show: Show) -> None:
    entry = show.application(show.copies[0])
    lines = b"".join(json.dumps(line).encode() + b"\n" for line in NO_LINES)
    before = table_counts()
    answer = show.head.hand_in(_heading(show) + lines)
    assert answer.status == 200
    told = [*answer.body["results"], *answer.body["photos"]]
    assert len(told) == len(NO_LINES)
    assert {each.get("result", each.get("state")) for each in told} == {"refused"}
    assert all(each["message"] for each in told)
    assert table_counts() == before
    good = json.dumps({"entry": entry}).encode() + b"\n"
    after = show.head.hand_in(_heading(show) + lines + good).body["results"]
    assert [result["result"] for result in after if result["id"] == entry["id"]] == ["stored"]


def test_a_photo_with_other_bytes_than_its_record_names(show: Show) -> None:
    raw, other = jpeg(seed=1), jpeg(seed=2)
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    content = base64.b64encode(other).decode()
    line = json.dumps({"photo": {"sha256": sha256_of(raw), "base64": content}}).encode() + b"\n"
    answer = show.head.hand_in(unsent_file(show.set_artist, [entry]) + line)
    assert answer.body["results"][0]["result"] == "stored"
    assert answer.body["photos"][0]["state"] == "refused"
    assert show.head.file_status(sha256_of(raw)).body["state"] == "awaited"
