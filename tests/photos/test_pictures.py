"""What is made of a phone's picture: upright, in three sizes, of every kind of pixels a phone sends."""

from __future__ import annotations

import io
import re
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, ImageChops, ImageOps
from PIL.PngImagePlugin import PngInfo

from continuity.photos.pictures import (
    MAXIMUM_PIXELS,
    UnreadablePhoto,
    full_type,
    make_full,
    make_renditions,
    upright_srgb,
)
from tests.builders import Show, photo, photos, sha256_of
from tests.photos.pictures import FORMATS, bomb_png, drawing, encoded, tiff_block, with_everything
from tests.photos.worker import prepare_photos

# How a picture lies in the file for each EXIF orientation: Exif 2.3, tag 0x0112 (values from memory).
# Turning it by this makes the file that a viewer must turn back.
LIES = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def _open(raw: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(raw))
    picture.load()
    return picture


def _all(raw: bytes, media_type: str) -> dict[str, bytes]:
    """All that is ever served of a photo."""
    made = make_renditions(raw, media_type)
    return {"small": made.small, "large": made.large, "full": make_full(raw, media_type)}


def _corners(picture: Image.Image) -> list[tuple[int, ...]]:
    """The colours a quarter of the way in from each corner, row by row."""
    upright = picture.convert("RGB")
    across, down = upright.width // 4, upright.height // 4
    found = []
    for y in (down, 3 * down):
        for x in (across, 3 * across):
            pixel = upright.getpixel((x, y))
            assert isinstance(pixel, tuple)
            found.append(tuple(int(value) for value in pixel))
    return found


def _alike(one: Image.Image, other: Image.Image) -> bool:
    """Whether two pictures show the same, but for what a lossy format costs."""
    return all(
        abs(a - b) <= 40
        for left, right in zip(_corners(one), _corners(other), strict=True)
        for a, b in zip(left, right, strict=True)
    )


@pytest.mark.parametrize("media_type", FORMATS)
@pytest.mark.parametrize("orientation", LIES)
def test_every_orientation_comes_out_upright(orientation: int, media_type: str) -> None:
    upright = drawing(128, 80)
    turn = LIES[orientation]
    lying = upright.transpose(turn) if turn is not None else upright
    raw = with_everything(lying, media_type, orientation)
    made = make_renditions(raw, media_type)
    assert (made.width, made.height) == (128, 80)
    for name, rendition in _all(raw, media_type).items():
        picture = _open(rendition)
        assert picture.size == (128, 80), name
        assert _alike(picture, upright), name
        # A viewer that does turn by EXIF finds nothing to turn.
        assert ImageOps.exif_transpose(picture).tobytes() == picture.tobytes()
    measured, _ = upright_srgb(raw, media_type)
    assert measured.size == (128, 80)
    assert _alike(measured, upright)


def test_the_orientations_tell_apart() -> None:
    """Otherwise the test above would say nothing."""
    upright = drawing(128, 80)
    turned = [upright.transpose(turn).resize((128, 80)) for turn in LIES.values() if turn is not None]
    assert not any(_alike(upright, other) for other in turned)


@pytest.mark.parametrize("orientation", [2, 4, 5, 6, 7, 8])
def test_a_heic_is_turned_by_its_own_boxes(orientation: int) -> None:
    """Not by EXIF, which says the same a second time on many phones, and must not turn it again
    (ISO/IEC 23008-12, `irot` and `imir`; from memory)."""
    turn = LIES[orientation]
    assert turn is not None
    raw = with_everything(drawing(128, 80).transpose(turn), "image/heic", orientation)
    assert b"irot" in raw or b"imir" in raw
    said = b"\x01\x12\x00\x03\x00\x00\x00\x01\x00"
    assert said + bytes([orientation]) in raw
    again = raw.replace(said + bytes([orientation]), said + b"\x01")
    for each in (raw, again):
        assert _alike(_open(make_renditions(each, "image/heic").large), drawing(128, 80))


XMP_ON_ITS_SIDE = b"""<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description xmlns:tiff="http://ns.adobe.com/tiff/1.0/" tiff:Orientation="6"/></rdf:RDF></x:xmpmeta>"""


@pytest.mark.parametrize("media_type", ["image/jpeg", "image/png", "image/webp"])
@pytest.mark.parametrize("exif", [None, b"Exif\0\0" + tiff_block(1, b"")])
def test_xmp_turns_nothing(media_type: str, exif: bytes | None) -> None:
    """A browser turns by EXIF alone, and so does the phone app, which shows a photo first."""
    options: dict[str, object] = {"exif": exif} if exif else {}
    words = PngInfo()
    words.add_itxt("XML:com.adobe.xmp", XMP_ON_ITS_SIDE.decode())
    options |= {"pnginfo": words} if media_type == "image/png" else {"xmp": XMP_ON_ITS_SIDE}
    raw = encoded(drawing(128, 80), FORMATS[media_type], **options)
    assert XMP_ON_ITS_SIDE in raw
    for rendition in _all(raw, media_type).values():
        assert _alike(_open(rendition), drawing(128, 80))


def _half_rubbed_out() -> dict[str, tuple[bytes, str]]:
    """The upper half does not show; its colours are still in the file."""
    pixels = np.array(drawing(128, 80).convert("RGBA"))
    pixels[:40, :, 3] = 0
    few = np.array([[0, 1], [2, 3]], dtype=np.uint8).repeat(40, axis=0).repeat(64, axis=1)
    palette = Image.fromarray(few).convert("P")
    palette.putpalette([220, 30, 30, 30, 200, 30, 30, 30, 220, 230, 220, 40])
    return {
        "PNG": (encoded(Image.fromarray(pixels), "PNG"), "image/png"),
        "WebP": (encoded(Image.fromarray(pixels), "WEBP", lossless=True, exact=True), "image/webp"),
        "palette": (encoded(palette, "PNG", transparency=bytes([0, 0])), "image/png"),
    }


@pytest.mark.parametrize("kind", _half_rubbed_out())
def test_what_was_rubbed_out_is_not_brought_back(kind: str) -> None:
    raw, media_type = _half_rubbed_out()[kind]
    expected = drawing(128, 80)
    expected.paste((255, 255, 255), (0, 0, 128, 40))
    for rendition in _all(raw, media_type).values():
        assert _alike(_open(rendition), expected)
    assert _alike(upright_srgb(raw, media_type)[0], expected)


def test_sixteen_bits_of_colour_are_divided() -> None:
    """Written by hand after PNG's colour type 2; Pillow writes none."""
    codes = np.array(drawing(128, 80)).astype(">u2") * 257
    rows = b"".join(b"\0" + row.tobytes() for row in codes)
    plain = encoded(Image.new("RGB", (128, 80)), "PNG")
    heading = plain[12:24] + bytes([16, 2, 0, 0, 0])

    def chunk(body: bytes) -> bytes:
        return struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))

    raw = plain[:8] + chunk(heading) + chunk(b"IDAT" + zlib.compress(rows)) + chunk(b"IEND")
    assert upright_srgb(raw, "image/png")[0].tobytes() == drawing(128, 80).tobytes()


@pytest.mark.parametrize(
    "exif", [bytes(60), b"MM\0*\0\0\0\x08\xff\xff" + bytes(60), b"II", b"MM\0*\xff\xff\xff\xff"]
)
def test_a_broken_exif_block_is_no_reason_not_to_show_it(exif: bytes) -> None:
    for media_type in ("image/jpeg", "image/webp", "image/png"):
        raw = encoded(drawing(), FORMATS[media_type], exif=b"Exif\0\0" + exif)
        for rendition in _all(raw, media_type).values():
            assert _alike(_open(rendition), drawing())


@pytest.mark.parametrize(
    ("size", "large", "small"),
    [
        ((4000, 3000), (2000, 1500), (480, 360)),
        ((4032, 3024), (2000, 1500), (480, 360)),
        ((3999, 2999), (2000, 1500), (480, 360)),
        ((1500, 3000), (1000, 2000), (240, 480)),
        ((1000, 800), (1000, 800), (480, 384)),
        ((100, 50), (100, 50), (100, 50)),
        ((1, 1), (1, 1), (1, 1)),
        ((3000, 1), (2000, 1), (480, 1)),
    ],
)
@pytest.mark.parametrize("media_type", ["image/jpeg", "image/png"])
def test_sizes(
    size: tuple[int, int], large: tuple[int, int], small: tuple[int, int], media_type: str
) -> None:
    raw = encoded(Image.new("RGB", size, (90, 60, 50)), FORMATS[media_type])
    made = _all(raw, media_type)
    assert _open(made["full"]).size == size
    assert _open(made["large"]).size == large
    assert _open(made["small"]).size == small


def test_a_lying_jpeg_is_made_smaller_the_same_way() -> None:
    """Decoded at half its size before it is turned."""
    raw = with_everything(Image.new("RGB", (4000, 3000), (90, 60, 50)), "image/jpeg", 6)
    made = make_renditions(raw, "image/jpeg")
    assert (made.width, made.height) == (3000, 4000)
    assert _open(made.large).size == (1500, 2000)
    assert _open(made.small).size == (360, 480)


@pytest.mark.parametrize("media_type", FORMATS)
def test_what_it_is_served_as(media_type: str) -> None:
    made = _all(encoded(drawing(), FORMATS[media_type]), media_type)
    assert _open(made["small"]).format == _open(made["large"]).format == "WEBP"
    # A browser need not know HEIC.
    expected = "JPEG" if media_type == "image/heic" else FORMATS[media_type]
    assert _open(made["full"]).format == expected
    assert full_type(media_type).endswith(expected.lower())


def test_a_jpeg_loses_next_to_nothing() -> None:
    """Soft changes of colour, as skin has them; at a hard edge the halved colours cost a little more."""
    across = Image.linear_gradient("L")
    soft = Image.merge("RGB", (across, across.rotate(90), across.rotate(180)))
    raw = encoded(soft, "JPEG", quality=85)
    full = make_full(raw, "image/jpeg")
    difference = ImageChops.difference(_open(raw), _open(full))
    bands = difference.getextrema()
    assert max(band[1] for band in bands if isinstance(band, tuple)) <= 4
    assert len(full) < 1.3 * len(raw)


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "1", "CMYK", "I;16"])
def test_other_kinds_of_pixels(mode: str) -> None:
    picture = Image.new("I;16", (60, 40)) if mode == "I;16" else drawing(60, 40).convert(mode)
    media_type = "image/jpeg" if mode == "CMYK" else "image/png"
    raw = encoded(picture, FORMATS[media_type])
    for rendition in _all(raw, media_type).values():
        assert _open(rendition).size == (60, 40)
        assert _open(rendition).mode in {"RGB", "L"}
    assert upright_srgb(raw, media_type)[0].mode in {"RGB", "L"}


def test_sixteen_bits_of_grey_are_divided_and_not_clipped() -> None:
    """From black to white over 256 columns: the code of each is its number."""
    ramp = np.tile(np.arange(256, dtype=np.uint16) * 257, (200, 1))
    raw = encoded(Image.fromarray(ramp), "PNG")
    assert raw[24:26] == b"\x10\0", "16 bits, grey"
    for rendition in (*_all(raw, "image/png").values(), encoded(upright_srgb(raw, "image/png")[0], "PNG")):
        seen = np.asarray(_open(rendition).convert("L")).astype(int)
        assert np.abs(seen - np.arange(256)).max() <= 3


@pytest.mark.parametrize("mode", ["1", "P"])
def test_a_picture_of_few_colours_is_averaged_when_it_is_made_smaller(mode: str) -> None:
    """Every other column white, of which the nearest pixels would be all black, or stripes."""
    columns = np.tile(np.array([0, 255], dtype=np.uint8), (960, 1920))
    raw = encoded(Image.fromarray(columns).convert(mode), "PNG")
    seen = np.asarray(_open(make_renditions(raw, "image/png").small).convert("L")).astype(int)
    assert np.abs(seen - 127.5).max() < 12


def test_what_is_wrong_with_a_picture_is_said_without_the_insides_of_a_program() -> None:
    cut_off = encoded(drawing(400, 300), "JPEG")[:1500]
    for raw, media_type in ((b"text", "image/jpeg"), (cut_off, "image/jpeg"), (b"\0" * 99, "image/heic")):
        with pytest.raises(UnreadablePhoto) as unreadable:
            make_renditions(raw, media_type)
        assert not re.search(r"[<>]|0x|BytesIO", str(unreadable.value))


def test_the_bound_on_pixels() -> None:
    assert MAXIMUM_PIXELS == 50_000_000
    for width, height in ((50_000_001, 1), (7072, 7072), (60_000, 60_000)):
        assert width * height > MAXIMUM_PIXELS
        for make in (make_renditions, make_full, upright_srgb):
            with pytest.raises(UnreadablePhoto, match="more than 50 million pixels"):
                make(bomb_png(width, height), "image/png")


def test_just_within_the_bound() -> None:
    raw = encoded(Image.new("1", (8000, 6250)), "PNG")
    assert struct.unpack(">II", raw[16:24]) == (8000, 6250)
    made = make_renditions(raw, "image/png")
    assert made.width * made.height == MAXIMUM_PIXELS


@pytest.mark.parametrize("media_type", FORMATS)
def test_what_is_served_is_what_was_made(show: Show, media_type: str) -> None:
    raw = with_everything(drawing(900, 600).transpose(Image.Transpose.ROTATE_90), media_type, 6)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(photo(raw, media_type))))
    show.set_artist.send_file(raw)
    prepare_photos()
    for rendition, size, served_as in (
        ("small", (480, 320), "image/webp"),
        ("large", (900, 600), "image/webp"),
        ("full", (900, 600), full_type(media_type)),
    ):
        response = show.continuity.account.client.get(
            show.continuity.path(f"photos/{sha256_of(raw)}/{rendition}")
        )
        content = b"".join(response.streaming_content)  # type: ignore[attr-defined]
        assert response.headers["Content-Type"] == served_as
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert "private" in response.headers["Cache-Control"]
        picture = _open(content)
        assert picture.size == size
        assert _alike(picture, drawing(900, 600))
