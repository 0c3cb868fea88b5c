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

from continuity.photos.colour_profiles import DISPLAY_P3, display_p3
from continuity.photos.pictures import make_full, make_renditions, upright_srgb
from tests.photos.pictures import FORMATS, encoded, heic

Numbers = NDArray[np.float64]
Shown = bytes | Image.Image

D65 = (0.3127, 0.3290)
SRGB_PRIMARIES = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
P3_PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
D50_XYZ = (0.9642, 1.0, 0.8249)  # The white of ICC profiles.
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
    plain, wide = _written(srgb, media_type, None), _written(in_p3, media_type, display_p3())
    pairs: dict[str, tuple[Shown, Shown]] = {
        "full": (make_full(plain, media_type), make_full(wide, media_type)),
        "large": (make_renditions(plain, media_type).large, make_renditions(wide, media_type).large),
        "small": (make_renditions(plain, media_type).small, make_renditions(wide, media_type).small),
        "measured": (upright_srgb(plain, media_type), upright_srgb(wide, media_type)),
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
    pixel = upright_srgb(encoded(red, "PNG", icc_profile=display_p3()), "image/png").getpixel((20, 20))
    assert pixel == (255, 0, 0)


def test_a_heic_that_names_its_colours_by_number() -> None:
    """An `nclx` box with the primaries of Display P3 (12 in ITU-T H.273, from memory), and no profile."""
    srgb = _srgb_picture()
    numbered = heic(
        _twin_in_p3(srgb),
        quality=100,
        chroma="444",
        save_nclx_profile=True,
        color_primaries=12,
        transfer_characteristics=13,
        matrix_coefficients=6,
        full_range_flag=1,
    )
    with Image.open(io.BytesIO(numbered)) as picture:
        assert picture.info["nclx_profile"]["color_primaries"] == 12
        assert "icc_profile" not in picture.info
    difference = _difference(upright_srgb(numbered, "image/heic"), srgb)
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
    pixel = upright_srgb(raw, "image/png").convert("L").getpixel((9, 9))
    assert isinstance(pixel, int)
    assert abs(pixel - expected) <= 1


@pytest.mark.parametrize("profile", [b"", b"no profile at all", display_p3()[:200], bytes(3000)])
def test_a_broken_profile_says_nothing_of_the_colours(profile: bytes) -> None:
    raw = encoded(_srgb_picture(), "PNG", icc_profile=profile)
    assert not _difference(upright_srgb(raw, "image/png"), _srgb_picture()).any()


def test_the_profile_of_display_p3_is_that_of_its_primaries() -> None:
    to_d50 = np.linalg.inv(BRADFORD) @ np.diag((BRADFORD @ D50_XYZ) / (BRADFORD @ _xyz(*D65))) @ BRADFORD
    expected = to_d50 @ _to_xyz(P3_PRIMARIES)
    found = np.array([DISPLAY_P3[name] for name in (b"rXYZ", b"gXYZ", b"bXYZ")]).T
    assert np.abs(found - expected).max() < 0.0003
    profile = ImageCms.ImageCmsProfile(io.BytesIO(display_p3())).profile
    colorants = (profile.red_colorant, profile.green_colorant, profile.blue_colorant)
    read = np.array([colorant[0] for colorant in colorants if colorant]).T
    assert np.abs(read - expected).max() < 0.0003
