"""What is made of a phone's picture: upright, stripped, in its own colours, in three sizes."""

from __future__ import annotations

import io
import struct

import pytest
from PIL import Image, ImageChops, ImageCms, ImageOps

from continuity.photos.pictures import MAXIMUM_PIXELS, Renditions, UnreadablePhoto, make_renditions
from tests.builders import Show, photo, photos, sha256_of
from tests.photos.pictures import (
    DEVICE_MARK,
    GPS_MARK,
    MAKER_MARK,
    bomb_png,
    drawing,
    encoded,
    jpeg,
    wide_gamut_profile,
    with_everything,
)

FORMATS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}

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


def _each(renditions: Renditions) -> dict[str, bytes]:
    return {"full": renditions.full, "large": renditions.large, "small": renditions.small}


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
    upright = drawing(120, 80)
    turn = LIES[orientation]
    lying = upright.transpose(turn) if turn is not None else upright
    renditions = make_renditions(with_everything(lying, FORMATS[media_type], orientation), media_type)
    assert (renditions.width, renditions.height) == (120, 80)
    for name, raw in _each(renditions).items():
        picture = _open(raw)
        assert picture.size == (120, 80), name
        assert _alike(picture, upright), name
        # A viewer that does turn by EXIF finds nothing to turn.
        assert ImageOps.exif_transpose(picture).tobytes() == picture.tobytes()


def test_the_orientations_tell_apart() -> None:
    """Otherwise the test above would say nothing."""
    upright = drawing(120, 80)
    turned = [upright.transpose(turn).resize((120, 80)) for turn in LIES.values() if turn is not None]
    assert not any(_alike(upright, other) for other in turned)


@pytest.mark.parametrize("media_type", FORMATS)
def test_no_place_and_no_device_is_left(media_type: str) -> None:
    raw = with_everything(drawing(), FORMATS[media_type], 6)
    for mark in (GPS_MARK, DEVICE_MARK, MAKER_MARK):
        assert mark in raw
    for name, rendition in _each(make_renditions(raw, media_type)).items():
        for mark in (GPS_MARK, DEVICE_MARK, MAKER_MARK, b"Exif", b"xmpmeta"):
            assert mark not in rendition, (name, mark)
        picture = _open(rendition)
        assert dict(picture.getexif()) == {}
        assert not {"exif", "xmp", "comment", "photoshop", "XML:com.adobe.xmp"} & picture.info.keys()


def test_the_small_picture_inside_the_file_is_gone() -> None:
    thumbnail = jpeg(40, 30, seed=7)
    exif = Image.Exif()
    exif[0x010F] = DEVICE_MARK.decode()
    block = exif.tobytes()
    # A second directory with a thumbnail, the way cameras write it, behind the first.
    raw = encoded(drawing(), "JPEG", exif=block + thumbnail)
    assert thumbnail[20:200] in raw
    for rendition in _each(make_renditions(raw, "image/jpeg")).values():
        assert thumbnail[20:200] not in rendition
        assert rendition.count(b"\xff\xd8\xff") <= 1


@pytest.mark.parametrize("media_type", FORMATS)
def test_a_wide_gamut_profile_is_kept(media_type: str) -> None:
    profile = wide_gamut_profile()
    upright = drawing()
    raw = encoded(upright, FORMATS[media_type], icc_profile=profile, quality=95)
    for name, rendition in _each(make_renditions(raw, media_type)).items():
        picture = _open(rendition)
        assert picture.info["icc_profile"] == profile, name
        # The numbers are the ones that go with the profile: they are not turned into sRGB on the way.
        assert _alike(picture, upright), name


def test_the_profile_of_the_test_is_wider_than_srgb() -> None:
    wide = ImageCms.ImageCmsProfile(io.BytesIO(wide_gamut_profile()))
    srgb = ImageCms.createProfile("sRGB")
    red = Image.new("RGB", (1, 1), (255, 0, 0))
    inside = ImageCms.profileToProfile(red, srgb, wide)
    assert isinstance(inside, Image.Image)
    pixel = inside.getpixel((0, 0))
    # The red of sRGB in Display P3: about (234, 51, 35), from memory.
    assert isinstance(pixel, tuple)
    assert all(abs(a - b) <= 3 for a, b in zip(pixel, (234, 51, 35), strict=True))


@pytest.mark.parametrize(
    ("size", "large", "small"),
    [
        ((4000, 3000), (2000, 1500), (480, 360)),
        ((1500, 3000), (1000, 2000), (240, 480)),
        ((1000, 800), (1000, 800), (480, 384)),
        ((100, 50), (100, 50), (100, 50)),
        ((1, 1), (1, 1), (1, 1)),
        ((3000, 1), (2000, 1), (480, 1)),
    ],
)
def test_sizes(size: tuple[int, int], large: tuple[int, int], small: tuple[int, int]) -> None:
    renditions = make_renditions(encoded(Image.new("RGB", size, (90, 60, 50)), "JPEG"), "image/jpeg")
    assert _open(renditions.full).size == size
    assert _open(renditions.large).size == large
    assert _open(renditions.small).size == small
    formats = [_open(raw).format for raw in _each(renditions).values()]
    assert formats == ["JPEG", "WEBP", "WEBP"]


def test_a_jpeg_loses_next_to_nothing() -> None:
    """Soft changes of colour, as skin has them; at a hard edge the halved colours cost a little more."""
    across = Image.linear_gradient("L")
    soft = Image.merge("RGB", (across, across.rotate(90), across.rotate(180)))
    raw = encoded(soft, "JPEG", quality=85)
    full = make_renditions(raw, "image/jpeg").full
    difference = ImageChops.difference(_open(raw), _open(full))
    bands = difference.getextrema()
    assert max(band[1] for band in bands if isinstance(band, tuple)) <= 4
    assert len(full) < 1.3 * len(raw)


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "1", "CMYK", "I;16"])
def test_other_kinds_of_pixels(mode: str) -> None:
    picture = Image.new("I;16", (60, 40)) if mode == "I;16" else drawing(60, 40).convert(mode)
    media_type = "image/jpeg" if mode == "CMYK" else "image/png"
    renditions = make_renditions(encoded(picture, FORMATS[media_type]), media_type)
    for raw in _each(renditions).values():
        assert _open(raw).size == (60, 40)


def test_the_bound_on_pixels() -> None:
    assert MAXIMUM_PIXELS == 50_000_000
    for width, height in ((50_000_001, 1), (7072, 7072), (60_000, 60_000)):
        assert width * height > MAXIMUM_PIXELS
        with pytest.raises(UnreadablePhoto):
            make_renditions(bomb_png(width, height), "image/png")


def test_just_within_the_bound() -> None:
    raw = encoded(Image.new("1", (8000, 6250)), "PNG")
    assert struct.unpack(">II", raw[16:24]) == (8000, 6250)
    renditions = make_renditions(raw, "image/png")
    assert renditions.width * renditions.height == MAXIMUM_PIXELS


def test_what_is_served_is_what_was_made(show: Show) -> None:
    raw = with_everything(drawing(900, 600).transpose(Image.Transpose.ROTATE_90), "JPEG", 6)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(photo(raw))))
    show.set_artist.send_file(raw)
    for rendition, size, media_type in (
        ("small", (480, 320), "image/webp"),
        ("large", (900, 600), "image/webp"),
        ("full", (900, 600), "image/jpeg"),
    ):
        response = show.continuity.account.client.get(
            show.continuity.path(f"photos/{sha256_of(raw)}/{rendition}")
        )
        content = b"".join(response.streaming_content)  # type: ignore[attr-defined]
        assert response.headers["Content-Type"] == media_type
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert "private" in response.headers["Cache-Control"]
        picture = _open(content)
        assert picture.size == size
        assert _alike(picture, drawing(900, 600))
        for mark in (GPS_MARK, DEVICE_MARK, MAKER_MARK):
            assert mark not in content
