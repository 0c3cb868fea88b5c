"""Pictures coded for HDR screens: shown as well as an ordinary screen can, never measured. Ordinary pictures
that carry beside them what an HDR screen adds are pictures like any other."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from continuity.photos.colour_profiles import numbered
from continuity.photos.pictures import make_full, make_renditions, upright_srgb
from tests.builders import Show, photo, photos, sha256_of
from tests.photos.pictures import drawing, encoded, heic
from tests.photos.worker import prepare_photos

PQ, HLG = 16, 18  # Transfer characteristics of ITU-T H.273.
BT_2020 = 9
REASON = "is coded for HDR screens ({}), and only ordinary pictures can be measured"

# The signal of an HDR white, and of a grey card of 18 %, which is 26 candela per square metre of its 203
# (Report ITU-R BT.2408, table 1). 26/203 is 101 in the curve of IEC 61966-2-1.
LEVELS = {PQ: {0.58: 255, 0.38: 101}, HLG: {0.75: 255, 0.38: 101}}


def _hdr_heic(signal: float, transfer: int, primaries: int = BT_2020) -> bytes:
    """One grey, in 10 bits, as cameras write it."""
    pixels = np.full((48, 64, 3), round(signal * 65535), dtype=np.uint16)
    buffer = io.BytesIO()
    pillow_heif.from_bytes("RGB;16", (64, 48), pixels.tobytes()).save(
        buffer,
        quality=100,
        chroma="444",
        save_nclx_profile=True,
        color_primaries=primaries,
        transfer_characteristics=transfer,
        matrix_coefficients=9,
        full_range_flag=1,
    )
    return buffer.getvalue()


def _with_chunk(png: bytes, name: bytes, content: bytes) -> bytes:
    """A PNG with one more chunk behind its heading."""
    chunk = struct.pack(">I", len(content)) + name + content
    return png[:33] + chunk + struct.pack(">I", zlib.crc32(chunk[4:])) + png[33:]


def _with_cicp(profile: bytes, numbers: bytes) -> bytes:
    """An ICC profile with a tag `cicp` (ICC.1:2022, 9.2.17) in the place of its white."""
    at = profile.index(b"wtpt")
    _, offset, _ = struct.unpack_from(">4sII", profile, at)
    tag = struct.pack(">4sII", b"cicp", offset, 12)
    content = b"cicp" + bytes(4) + numbers
    return profile[:at] + tag + profile[at + 12 : offset] + content + profile[offset + 12 :]


@pytest.mark.parametrize("transfer", LEVELS)
@pytest.mark.parametrize("kind", ["HEIC", "PNG"])
def test_white_is_white_and_a_grey_card_is_not_pale(kind: str, transfer: int) -> None:
    for signal, expected in LEVELS[transfer].items():
        if kind == "HEIC":
            raw, media_type = _hdr_heic(signal, transfer), "image/heic"
        else:
            grey = Image.new("RGB", (64, 48), (round(signal * 255),) * 3)
            raw = _with_chunk(encoded(grey, "PNG"), b"cICP", bytes([BT_2020, transfer, 0, 1]))
            media_type = "image/png"
        made = make_renditions(raw, media_type)
        for shown in (made.small, made.large, make_full(raw, media_type)):
            pixels = np.asarray(Image.open(io.BytesIO(shown)).convert("RGB")).astype(int)
            # A percent of PQ is 3 codes of sRGB here.
            assert np.abs(pixels - expected).max() <= 5
        assert made.not_measurable == REASON.format("PQ" if transfer == PQ else "HLG")
        assert upright_srgb(raw, media_type)[1] == made.not_measurable


@pytest.mark.parametrize("media_type", ["image/jpeg", "image/png", "image/webp", "image/heic"])
def test_a_profile_that_says_so(media_type: str) -> None:
    profile = _with_cicp(numbered(BT_2020, PQ) or b"", bytes([BT_2020, PQ, 0, 1]))
    picture = drawing()
    raw = (
        heic(picture, icc_profile=profile)
        if media_type == "image/heic"
        else encoded(picture, media_type.removeprefix("image/").upper(), icc_profile=profile)
    )
    assert make_renditions(raw, media_type).not_measurable == REASON.format("PQ")


@pytest.mark.parametrize("numbers", [bytes([12, 13, 0, 1]), bytes([1, 13, 0, 1]), bytes([9, 14, 0, 1])])
def test_ordinary_numbers_are_no_reason(numbers: bytes) -> None:
    profile = _with_cicp(numbered(12, 13) or b"", numbers)
    for raw in (
        encoded(drawing(), "PNG", icc_profile=profile),
        _with_chunk(encoded(drawing(), "PNG"), b"cICP", numbers),
    ):
        assert make_renditions(raw, "image/png").not_measurable == ""


@pytest.mark.parametrize("length", [0, 3, 128, 131, 132, 140, 225])
def test_half_a_profile_says_nothing(length: int) -> None:
    profile = _with_cicp(numbered(BT_2020, PQ) or b"", bytes([BT_2020, PQ, 0, 1]))[:length]
    assert make_renditions(encoded(drawing(), "PNG", icc_profile=profile), "image/png").not_measurable == ""


def test_a_png_s_numbers_come_before_its_profile() -> None:
    """PNG, third edition, 4.3."""
    wide = Image.new("RGB", (40, 40), (200, 60, 60))
    srgb = encoded(wide, "PNG", icc_profile=numbered(9, 14))
    pixel = upright_srgb(_with_chunk(srgb, b"cICP", bytes([1, 13, 0, 1])), "image/png")[0].getpixel((9, 9))
    assert pixel == (200, 60, 60)
    assert upright_srgb(srgb, "image/png")[0].getpixel((9, 9)) != pixel


@pytest.mark.parametrize("named", [True, False])
def test_a_jpeg_with_a_gain_map_is_an_ordinary_picture(named: bool) -> None:
    """A second JPEG behind the first, which CIPA DC-007's index points to; `hdrgm` in XMP says what it is."""
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf hdrgm:Version="1.0"/></x:xmpmeta>' if named else b""
    buffer = io.BytesIO()
    drawing(320, 240).save(
        buffer, "MPO", save_all=True, append_images=[Image.new("L", (80, 60), 200)], quality=90, xmp=xmp
    )
    made = make_renditions(buffer.getvalue(), "image/jpeg")
    assert made == make_renditions(encoded(drawing(320, 240), "JPEG", quality=90), "image/jpeg")
    assert made.not_measurable == ""


def test_only_the_picture_that_is_shown_of_a_heic_counts() -> None:
    """Others in the file may be for HDR screens."""
    pillow_heif.register_heif_opener()
    container = pillow_heif.from_pillow(drawing(320, 240))
    container.add_from_pillow(drawing(320, 240))
    for each, (primaries, transfer) in zip(container, ((12, 13), (9, PQ)), strict=True):
        numbers: Any = {"matrix_coefficients": 1, "full_range_flag": 1}
        numbers |= {"color_primaries": primaries, "transfer_characteristics": transfer}
        each.info["nclx_profile"] = numbers
    buffer = io.BytesIO()
    container.save(buffer, quality=90, primary_index=0)
    raw = buffer.getvalue()
    written = [dict(each.info) for each in pillow_heif.open_heif(raw)]
    assert [str(info["nclx_profile"]).count("'transfer_characteristics': 16") for info in written] == [0, 1]
    assert make_renditions(raw, "image/heic").not_measurable == ""


def test_the_sheet_says_so_and_shows_the_photo(show: Show) -> None:
    hdr, plain = _hdr_heic(0.4, PQ), heic(drawing())
    entry = show.application(photos=photos(photo(hdr, "image/heic"), photo(plain, "image/heic")))
    show.set_artist.send_ok(entry)
    for raw in (hdr, plain):
        show.set_artist.send_file(raw)
    assert show.head.record(entry["record"])["derived"]["not_measurable"] == {}
    cursor = show.head.cursor()
    prepare_photos()
    derived = show.head.record(entry["record"])["derived"]
    assert derived["not_measurable"] == {sha256_of(hdr): REASON.format("PQ")}
    assert set(derived["files"].values()) == {"stored"}
    assert [change["id"] for change in show.head.changes(after=cursor)] == [entry["record"]]
    path = show.head.path(f"photos/{sha256_of(hdr)}/large")
    assert show.head.account.get(path).status == 200
    # And still does when the sheet is written to again.
    show.set_artist.send_ok(show.set_artist.edit(entry, {"note": "In the shade"}))
    assert show.head.record(entry["record"])["derived"]["not_measurable"] == derived["not_measurable"]


def test_of_a_photo_of_bare_skin_nothing_is_said_to_those_who_may_not_see_it(show: Show) -> None:
    raw = _hdr_heic(0.4, HLG)
    entry = show.application(photos=photos(photo(raw, "image/heic", moment="removed")))
    show.set_artist.send_ok(entry)
    show.set_artist.send_file(raw)
    prepare_photos()
    assert show.head.record(entry["record"])["derived"]["not_measurable"]
    assert show.continuity.record(entry["record"])["derived"]["not_measurable"] == {}
