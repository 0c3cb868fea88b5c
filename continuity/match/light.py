"""From the codes of an sRGB picture to linear light and to CIE L*a*b*.

Linear light: red, green and blue of sRGB's primaries, 1 for the white of the picture, proportional to the
light that came in. White, grey and exposure are set there, because only there do they multiply.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Codes = NDArray[np.uint8]

SRGB_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
"""IEC 61966-2-1: linear sRGB to CIE XYZ, white D65 (0.95047, 1, 1.08883)."""

LUMINANCE = SRGB_TO_XYZ[1]
"""The share of each channel in the luminance Y."""

ROUNDING = np.array([0.42, 0.30, 0.50])
"""Standard deviation in codes of red, green and blue that rounding leaves in a mean. A JPEG rounds the mean
of every block: at quality 80 in steps of 6/8 of luma and 7/8 of chroma (the tables of ITU-T T.81, annex K,
scaled as is usual; from memory), whose standard deviations, put through the matrix of JFIF, are these. Where
a surface is quite even all its blocks are rounded alike, and no number of pixels averages that away."""

GREY_CARD = 0.18
"""The reflectance of a grey card. That grey cards have 18 % is common practice, no source; another grey moves
both photos of a measurement alike."""


@cache
def _linear_by_code() -> Floats:
    code = np.arange(256) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def linear_light(codes: Codes) -> Floats:
    """Codes of 0 to 255 in linear light, by the curve of IEC 61966-2-1."""
    return _linear_by_code()[codes]


def rounding_of(linear: Floats) -> Floats:
    """The standard deviation that rounding leaves in a mean, in linear light, of the same shape.

    `ROUNDING` of a code, times the slope of the curve of IEC 61966-2-1 there.
    """
    light = np.clip(linear, 0.0031308, 1)
    # Of ((code + 0.055) / 1.055) ** 2.4, with the code put in terms of the light.
    return np.asarray(ROUNDING / 255 * 2.4 / 1.055 * light ** (1.4 / 2.4))


def lab_of(linear: Floats) -> Floats:
    """CIE 1976 L*a*b* (D65, 2 degrees) of colours in linear light, ``(..., 3)`` to ``(..., 3)``.

    Negative light, which balancing a noisy black can give, is taken for none.
    """
    from skimage.color import xyz2lab

    xyz = np.maximum(linear, 0) @ SRGB_TO_XYZ.T
    return np.asarray(xyz2lab(xyz, illuminant="D65", observer="2"), dtype=np.float64)
