"""ICC profiles for pictures that name their colours by number, or in EXIF, instead of carrying a profile.

Each has three primaries and one curve for the three channels. Those of the two coded for HDR screens end at
the white of paper: what is brighter is shown as white.
"""

from __future__ import annotations

import functools
import math
import struct

Columns = tuple[tuple[float, float, float], ...]

# Red, green and blue in CIE XYZ, with the white point D65 adapted to D50 by Bradford's method. A test works
# them out from the primaries.
SRGB: Columns = ((0.43607, 0.22249, 0.01392), (0.38515, 0.71687, 0.09708), (0.14307, 0.06061, 0.71410))
"""IEC 61966-2-1, whose primaries are those of ITU-R BT.709."""
DISPLAY_P3: Columns = ((0.51512, 0.24120, -0.00105), (0.29198, 0.69225, 0.04189), (0.15710, 0.06657, 0.78407))
"""SMPTE EG 432-1."""
BT_2020: Columns = ((0.67348, 0.27904, -0.00193), (0.16567, 0.67535, 0.02998), (0.12505, 0.04561, 0.79686))
"""ITU-R BT.2020."""
ADOBE_RGB: Columns = ((0.60974, 0.31111, 0.01947), (0.20528, 0.62567, 0.06087), (0.14919, 0.06322, 0.74457))
"""Adobe RGB (1998) Color Image Encoding, version 2005-05."""

D50 = (0.9642, 1.0, 0.8249)
"""The white of every ICC profile (ICC.1:2010, 7.2.16)."""

PQ, HLG = 16, 18
"""Transfer characteristics of ITU-T H.273 for HDR screens: SMPTE ST 2084, and ARIB STD-B67."""

PRIMARIES_BY_NUMBER = {9: BT_2020, 12: DISPLAY_P3}
"""Colour primaries of ITU-T H.273; all others are shown as sRGB."""

PAPER_WHITE_PQ, PAPER_WHITE_HLG = 203.0, 0.75
"""How ITU-R BT.2408 codes the white of paper: in candela per square metre, and in the signal."""

ENTRIES = 4096


@functools.cache
def adobe_rgb() -> bytes:
    """The profile of Adobe RGB (1998): a gamma of 563/256, with no straight piece at black."""
    return _profile(ADOBE_RGB, struct.pack(">4s4xIH", b"curv", 1, 563))


@functools.cache
def numbered(primaries: int, transfer: int) -> bytes | None:
    """The profile for two numbers of ITU-T H.273; None for sRGB, and what cannot be told from it."""
    if transfer == PQ:
        curve = _table([_light_of_pq(code / (ENTRIES - 1)) / PAPER_WHITE_PQ for code in range(ENTRIES)])
    elif transfer == HLG:
        white = _light_of_hlg(PAPER_WHITE_HLG)
        curve = _table([_light_of_hlg(code / (ENTRIES - 1)) / white for code in range(ENTRIES)])
    elif primaries in PRIMARIES_BY_NUMBER:
        curve = _srgb_curve()
    else:
        return None
    return _profile(PRIMARIES_BY_NUMBER.get(primaries, SRGB), curve)


def _light_of_pq(code: float) -> float:
    """Candela per square metre of a signal between 0 and 1: SMPTE ST 2084, equation 4.1."""
    power = code ** (4096 / 2523 / 128)
    light = max(power - 3424 / 4096, 0) / (2413 / 128 - 2392 / 128 * power)
    return float(10_000 * light ** (16384 / 2610))


def _light_of_hlg(code: float) -> float:
    """Relative light of a screen for a signal between 0 and 1: ITU-R BT.2100, table 5, with the system gamma
    of a screen of 1000 candela per square metre on each channel by itself, which is exact for greys."""
    a = 0.17883277
    b, c = 1 - 4 * a, 0.5 - a * math.log(4 * a)
    scene = code**2 / 3 if code <= 0.5 else (math.exp((code - c) / a) + b) / 12
    return float(scene**1.2)


def _table(light: list[float]) -> bytes:
    values = [round(65535 * min(1.0, value)) for value in light]
    return struct.pack(f">4s4xI{len(values)}H", b"curv", len(values), *values)


def _srgb_curve() -> bytes:
    """IEC 61966-2-1, as ICC's parametric curve of type 3."""
    return struct.pack(">4s4xH2x5i", b"para", 3, *_fixed(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))


def _profile(columns: Columns, curve: bytes) -> bytes:
    """A display profile of three primaries and one curve (ICC.1:2010, 7.2, 7.3, 8.3.3)."""
    names = (b"wtpt", b"rXYZ", b"gXYZ", b"bXYZ")
    tags = [
        (name, struct.pack(">4s4x3i", b"XYZ ", *_fixed(*colour)))
        for name, colour in zip(names, (D50, *columns), strict=True)
    ] + [(name, curve + bytes(-len(curve) % 4)) for name in (b"rTRC", b"gTRC", b"bTRC")]
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, content in tags:
        table += struct.pack(">4sII", name, start + len(body), len(content))
        body += content
    header = struct.pack(
        ">I4xI4s4s4s12x4s28x3i48x",
        start + len(body), 0x04200000, b"mntr", b"RGB ", b"XYZ ", b"acsp", *_fixed(*D50),
    )  # fmt: skip
    return header + table + body


def _fixed(*values: float) -> tuple[int, ...]:
    return tuple(round(value * 65536) for value in values)
