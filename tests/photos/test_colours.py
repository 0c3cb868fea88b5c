"""A picture in a wider colour space than a screen's is turned into sRGB, and looks as it did.

The truth here is worked out with NumPy from the definitions of the two colour spaces, not with the colour
management that the server uses. The primaries of Display P3 (SMPTE EG 432-1), those of sRGB, the white D65
and the curve (IEC 61966-2-1) are from memory.
"""

from __future__ import annotations

import io
import struct
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000, rgb2lab

from continuity.photos.colour_profiles import (
    ADOBE_RGB,
    BT_2020,
    DISPLAY_P3,
    SRGB,
    Columns,
    adobe_rgb,
    numbered,
)
from continuity.photos.pictures import make_full, make_renditions, upright_srgb
from tests.photos.pictures import FORMATS, colour_space_exif, encoded, heic

Numbers = NDArray[np.float64]
Shown = bytes | Image.Image

D65 = (0.3127, 0.3290)
SRGB_PRIMARIES = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
P3_PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
D50_XYZ = (0.9642, 1.0, 0.8249)  # The white of ICC profiles.
BT_2020_PRIMARIES = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
ADOBE_RGB_PRIMARIES = ((0.640, 0.330), (0.210, 0.710), (0.150, 0.060))
DISPLAY_P3_PROFILE = numbered(12, 13) or b""
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def _xyz(x: float, y: float) -> Numbers:
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _to_xyz(primaries: tuple[tuple[float, float], ...]) -> Numbers:
    columns = np.stack([_xyz(*primary) for primary in primaries], axis=1)
    scaled: Numbers = columns * np.linalg.solve(columns, _xyz(*D65))
    return scaled


def _linear(values: Numbers) -> Numbers:
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def _curved(values: Numbers) -> Numbers:
    return np.where(values <= 0.0031308, values * 12.92, 1.055 * np.maximum(values, 0) ** (1 / 2.4) - 0.055)


def _srgb_picture() -> Image.Image:
    """Soft changes through the colours from dark to light, none with a channel next to nothing: there one
    step of P3's numbers is many of sRGB's, and a comparison in 8-bit levels would be one of rounding."""
    across = np.linspace(0, 1, 320)
    down = np.linspace(0, 1, 240)
    grid = np.stack(
        [
            np.tile(across, (240, 1)),
            np.tile(down[:, None], (1, 320)),
            0.5 + 0.45 * np.cos(4 * across)[None, :] * np.sin(3 * down)[:, None],
        ],
        axis=2,
    )
    return Image.fromarray(np.round(40 + grid * 180).astype(np.uint8))


def _twin_in_p3(picture: Image.Image) -> Image.Image:
    """The same colours in the numbers of Display P3."""
    linear = _linear(np.asarray(picture) / 255)
    turned = linear @ (np.linalg.inv(_to_xyz(P3_PRIMARIES)) @ _to_xyz(SRGB_PRIMARIES)).T
    return Image.fromarray(np.round(_curved(turned.clip(0, 1)) * 255).astype(np.uint8))


def _written(picture: Image.Image, media_type: str, profile: bytes | None) -> bytes:
    options: dict[str, Any] = {"icc_profile": profile} if profile else {}
    if media_type == "image/heic":
        return heic(picture, quality=100, chroma="444", **options)
    if media_type == "image/jpeg":
        options |= {"quality": 98, "subsampling": 0}
    if media_type == "image/webp":
        options |= {"lossless": True}
    return encoded(picture, FORMATS[media_type], **options)


def _difference(one: Shown, other: Shown) -> NDArray[np.int64]:
    opened = [
        each if isinstance(each, Image.Image) else Image.open(io.BytesIO(each)) for each in (one, other)
    ]
    first, second = (np.asarray(each.convert("RGB")).astype(np.int64) for each in opened)
    return first - second


# In 8-bit levels: the most at any pixel, and the mean with its sign: how far the colours have shifted.
# Without loss it is rounding to P3's numbers and back; with loss, each of the two pictures has its own.
WITHOUT_LOSS = (2, 0.2)
WITH_LOSS = (16, 0.5)


@pytest.mark.parametrize("media_type", FORMATS)
def test_a_display_p3_picture_beside_its_srgb_twin(media_type: str) -> None:
    srgb = _srgb_picture()
    in_p3 = _twin_in_p3(srgb)
    # Unmanaged, the numbers are far apart: a test that finds nothing would mean something.
    assert abs(_difference(srgb, in_p3).mean(axis=(0, 1))).max() > 3
    plain, wide = _written(srgb, media_type, None), _written(in_p3, media_type, DISPLAY_P3_PROFILE)
    pairs: dict[str, tuple[Shown, Shown]] = {
        "full": (make_full(plain, media_type), make_full(wide, media_type)),
        "large": (make_renditions(plain, media_type).large, make_renditions(wide, media_type).large),
        "small": (make_renditions(plain, media_type).small, make_renditions(wide, media_type).small),
        "measured": (upright_srgb(plain, media_type)[0], upright_srgb(wide, media_type)[0]),
    }
    for name, (ours, theirs) in pairs.items():
        difference = _difference(ours, theirs)
        lossless = media_type == "image/png" and name in {"full", "measured"}
        most, mean = WITHOUT_LOSS if lossless else WITH_LOSS
        assert abs(difference).max() <= most, name
        assert abs(difference.mean(axis=(0, 1))).max() <= mean, name


def test_colours_outside_srgb_go_to_its_edge() -> None:
    """The red of Display P3 is outside sRGB; it becomes sRGB's own and not something duller."""
    red = Image.new("RGB", (40, 40), (255, 0, 0))
    shown, _ = upright_srgb(encoded(red, "PNG", icc_profile=DISPLAY_P3_PROFILE), "image/png")
    assert shown.getpixel((20, 20)) == (255, 0, 0)


def test_a_heic_that_names_its_colours_by_number() -> None:
    """An `nclx` box with the primaries of Display P3 (12 in ITU-T H.273, from memory), and no profile."""
    srgb = _srgb_picture()
    raw = heic(
        _twin_in_p3(srgb),
        quality=100,
        chroma="444",
        save_nclx_profile=True,
        color_primaries=12,
        transfer_characteristics=13,
        matrix_coefficients=6,
        full_range_flag=1,
    )
    with Image.open(io.BytesIO(raw)) as picture:
        assert picture.info["nclx_profile"]["color_primaries"] == 12
        assert "icc_profile" not in picture.info
    difference = _difference(upright_srgb(raw, "image/heic")[0], srgb)
    assert abs(difference).max() <= WITH_LOSS[0]
    assert abs(difference.mean(axis=(0, 1))).max() <= WITH_LOSS[1]


@pytest.mark.parametrize("media_type", FORMATS)
def test_a_picture_that_is_srgb_already_is_left_alone(media_type: str) -> None:
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain, named = _written(_srgb_picture(), media_type, None), _written(_srgb_picture(), media_type, srgb)
    assert make_full(plain, media_type) == make_full(named, media_type)
    assert make_renditions(plain, media_type) == make_renditions(named, media_type)


def test_a_grey_picture_with_a_grey_profile() -> None:
    """Its curve is a gamma of 1: middle grey in light is 188 in sRGB's curve (0.5 by the formula above)."""
    linear = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    linear[16:20] = b"GRAY"
    (count,) = struct.unpack_from(">I", linear, 128)
    for number in range(count):
        name, offset, _ = struct.unpack_from(">4sII", linear, 132 + 12 * number)
        if name == b"rTRC":
            linear[132 + 12 * number : 136 + 12 * number] = b"kTRC"
            # A curve of no entries is the identity (ICC.1, curveType; from memory).
            linear[offset : offset + 12] = b"curv" + bytes(8)
    raw = encoded(Image.new("L", (30, 20), 128), "PNG", icc_profile=bytes(linear))
    expected = round(255 * float(_curved(np.array(128 / 255))))
    pixel = upright_srgb(raw, "image/png")[0].convert("L").getpixel((9, 9))
    assert isinstance(pixel, int)
    assert abs(pixel - expected) <= 1


def test_a_grey_picture_with_a_profile_of_colours() -> None:
    """As a camera set to Adobe RGB writes black and white: dark grey 20 is darker there than in sRGB."""
    raw = encoded(Image.new("L", (32, 32), 20), "PNG", icc_profile=adobe_rgb())
    expected = round(255 * float(_curved(np.array((20 / 255) ** (563 / 256)))))
    assert expected == 12
    pixel = upright_srgb(raw, "image/png")[0].convert("L").getpixel((9, 9))
    assert isinstance(pixel, int)
    assert abs(pixel - expected) <= 1


def test_a_large_profile_is_no_reason_not_to_show_a_picture() -> None:
    """Of tables, some have millions of bytes."""
    raw = encoded(_twin_in_p3(_srgb_picture()), "PNG", icc_profile=DISPLAY_P3_PROFILE + bytes(4_000_000))
    assert abs(_difference(upright_srgb(raw, "image/png")[0], _srgb_picture())).max() <= WITHOUT_LOSS[0]


def _without_primaries() -> bytes:
    """All colours of such a profile are black."""
    profile = bytearray(DISPLAY_P3_PROFILE)
    for name in (b"rXYZ", b"gXYZ", b"bXYZ"):
        (offset,) = struct.unpack_from(">I", profile, profile.index(name) + 4)
        profile[offset + 8 : offset + 20] = bytes(12)
    return bytes(profile)


@pytest.mark.parametrize(
    "profile",
    [
        b"",
        b"no profile at all",
        DISPLAY_P3_PROFILE[:200],
        bytes(3000),
        _without_primaries(),
        # From a device to a device, an abstract one, and one of named colours (ICC.1:2010, 7.2.5).
        *(DISPLAY_P3_PROFILE[:12] + sort + DISPLAY_P3_PROFILE[16:] for sort in (b"link", b"abst", b"nmcl")),
    ],
)
def test_a_broken_profile_says_nothing_of_the_colours(profile: bytes) -> None:
    raw = encoded(_srgb_picture(), "PNG", icc_profile=profile)
    assert not _difference(upright_srgb(raw, "image/png")[0], _srgb_picture()).any()


@pytest.mark.parametrize(
    ("primaries", "columns", "profile"),
    [
        (SRGB_PRIMARIES, SRGB, numbered(1, 16)),
        (P3_PRIMARIES, DISPLAY_P3, DISPLAY_P3_PROFILE),
        (BT_2020_PRIMARIES, BT_2020, numbered(9, 14)),
        (ADOBE_RGB_PRIMARIES, ADOBE_RGB, adobe_rgb()),
    ],
)
def test_a_profile_is_that_of_its_primaries(
    primaries: tuple[tuple[float, float], ...], columns: Columns, profile: bytes
) -> None:
    to_d50 = np.linalg.inv(BRADFORD) @ np.diag((BRADFORD @ D50_XYZ) / (BRADFORD @ _xyz(*D65))) @ BRADFORD
    expected = to_d50 @ _to_xyz(primaries)
    assert np.abs(np.array(columns).T - expected).max() < 0.0003
    opened = ImageCms.ImageCmsProfile(io.BytesIO(profile)).profile
    colorants = (opened.red_colorant, opened.green_colorant, opened.blue_colorant)
    read = np.array([colorant[0] for colorant in colorants if colorant]).T
    assert np.abs(read - expected).max() < 0.0003


XYZ_TO_ADOBE_RGB = np.array(
    [[2.04159, -0.56501, -0.34473], [-0.96924, 1.87597, 0.04156], [0.01344, -0.11836, 1.01517]]
)
"""As printed in Adobe RGB (1998) Color Image Encoding, version 2005-05, for CIE XYZ of the white D65."""


def _twin_in_adobe_rgb(picture: Image.Image) -> Image.Image:
    """The same colours in the codes of Adobe RGB (1998), by its printed matrix and gamma of 563/256."""
    turned = _linear(np.asarray(picture) / 255) @ (XYZ_TO_ADOBE_RGB @ _to_xyz(SRGB_PRIMARIES)).T
    return Image.fromarray(np.round(turned.clip(0, 1) ** (256 / 563) * 255).astype(np.uint8))


def _delta_e(shown: Shown, truth: Image.Image) -> Numbers:
    """CIEDE2000 at each pixel, by scikit-image."""
    opened = shown if isinstance(shown, Image.Image) else Image.open(io.BytesIO(shown))
    labs = [rgb2lab(np.asarray(each.convert("RGB")) / 255) for each in (opened, truth)]
    return np.asarray(deltaE_ciede2000(*labs))  # type: ignore[no-untyped-call]


def _camera_jpeg(picture: Image.Image, colour_space: int, index: bytes) -> bytes:
    exif = colour_space_exif(colour_space, index)
    return encoded(picture, "JPEG", quality=98, subsampling=0, exif=exif)


def test_a_camera_set_to_adobe_rgb_says_so_in_exif_alone() -> None:
    """ColorSpace 0xFFFF with the index R03 (Exif 2.3, DCF 2.0), and no profile."""
    srgb = _srgb_picture()
    raw = _camera_jpeg(_twin_in_adobe_rgb(srgb), 0xFFFF, b"R03")
    with Image.open(io.BytesIO(raw)) as picture:
        # Read as if it were sRGB, it is a visible shift.
        assert _delta_e(picture, srgb).mean() > 3
        assert "icc_profile" not in picture.info
    shown: dict[str, Shown] = {
        "large": make_renditions(raw, "image/jpeg").large,
        "full": make_full(raw, "image/jpeg"),
        "measured": upright_srgb(raw, "image/jpeg")[0],
    }
    for name, each in shown.items():
        assert _delta_e(each, srgb).mean() < 1, name
    # In the mean of an even surface, as colour is measured, hardly anything is left of it.
    difference = _difference(shown["measured"], srgb)
    assert abs(difference.mean(axis=(0, 1))).max() <= WITH_LOSS[1]


def test_the_white_and_the_green_of_adobe_rgb() -> None:
    """White stays white; its green is outside sRGB; grey 128 is the light 0.2195 (0.502 to the power of
    563/256), which is 129 in sRGB's codes."""
    for code, expected in {
        (255, 255, 255): (255, 255, 255),
        (0, 255, 0): (0, 255, 0),
        (128,) * 3: (129,) * 3,
    }.items():
        picture = Image.new("RGB", (32, 32), code)
        shown, _ = upright_srgb(_camera_jpeg(picture, 0xFFFF, b"R03"), "image/jpeg")
        assert np.abs(np.array(shown.getpixel((9, 9))) - expected).max() <= 2


@pytest.mark.parametrize(
    ("colour_space", "index"), [(1, b"R98"), (0xFFFF, b"R98"), (1, b"R03"), (0xFFFF, b"THM")]
)
def test_what_does_not_say_both_is_srgb(colour_space: int, index: bytes) -> None:
    plain = encoded(_srgb_picture(), "JPEG", quality=98, subsampling=0)
    said = _camera_jpeg(_srgb_picture(), colour_space, index)
    assert make_renditions(said, "image/jpeg") == make_renditions(plain, "image/jpeg")


def test_a_profile_comes_before_what_exif_says() -> None:
    srgb = _srgb_picture()
    exif = colour_space_exif(0xFFFF, b"R03")
    options = {"quality": 98, "subsampling": 0, "icc_profile": DISPLAY_P3_PROFILE}
    raw = encoded(_twin_in_p3(srgb), "JPEG", exif=exif, **options)
    assert _delta_e(upright_srgb(raw, "image/jpeg")[0], srgb).mean() < 0.5


def test_a_large_photo_in_adobe_rgb_is_decoded_at_half_its_size_too() -> None:
    srgb = _srgb_picture().resize((4000, 3000), Image.Resampling.BICUBIC)
    raw = _camera_jpeg(_twin_in_adobe_rgb(srgb), 0xFFFF, b"R03")
    large = make_renditions(raw, "image/jpeg").large
    assert _delta_e(large, srgb.resize((2000, 1500), Image.Resampling.BOX)).mean() < 1
