"""Which colours the codes of a picture stand for, as its file says it: by profile, by number, or in EXIF."""

from __future__ import annotations

import struct

from PIL import Image

from continuity.photos.colour_profiles import HLG, PQ, adobe_rgb, numbered

Numbers = tuple[int, int]

UNCALIBRATED, OPTIONAL_COLOUR_SPACE = 0xFFFF, "R03"
"""EXIF's ColorSpace, and the InteroperabilityIndex that says which (Exif 2.3 and DCF 2.0)."""

HDR_NAMES = {PQ: "PQ", HLG: "HLG"}


def profile_of(picture: Image.Image, raw: bytes) -> bytes | None:
    """The ICC profile of an opened picture, made for it where it has none; None where its colours are sRGB,
    or nothing is said of them."""
    if picture.format == "PNG" and (numbers := _png_numbers(raw)):
        # They come before a profile (PNG, third edition, 4.3).
        return numbered(*numbers)
    embedded: bytes | None = picture.info.get("icc_profile")
    if embedded:
        return embedded
    if numbers := _heif_numbers(picture):
        return numbered(*numbers)
    return adobe_rgb() if _is_adobe_rgb(picture) else None


def why_not_measurable(picture: Image.Image, raw: bytes) -> str:
    """Why no colour can be measured in an opened picture, to be put behind "it", and empty where it can.

    What is coded for HDR screens has been given its tones for another white than an ordinary picture has. One
    that has an ordinary picture in it, and beside it a map of what an HDR screen adds, is measured.
    """
    numbers = (
        (_png_numbers(raw) if picture.format == "PNG" else None)
        or _profile_numbers(picture.info.get("icc_profile") or b"")
        or _heif_numbers(picture)
    )
    name = HDR_NAMES.get(numbers[1]) if numbers else None
    return f"is coded for HDR screens ({name}), and only ordinary pictures can be measured" if name else ""


def _heif_numbers(picture: Image.Image) -> Numbers | None:
    """Primaries and transfer characteristics (ITU-T H.273) of a `colr` box of the type `nclx`."""
    found = picture.info.get("nclx_profile")
    return (int(found["color_primaries"]), int(found["transfer_characteristics"])) if found else None


def _png_numbers(raw: bytes) -> Numbers | None:
    """The same of a PNG's `cICP`, which stands before its pixels (PNG, third edition, 11.3.2.6)."""
    at = 8
    while at + 10 <= len(raw):
        length, name = struct.unpack_from(">I4s", raw, at)
        if name == b"cICP":
            return raw[at + 8], raw[at + 9]
        if name == b"IDAT":
            break
        at += 12 + length
    return None


def _profile_numbers(profile: bytes) -> Numbers | None:
    """The same of a profile's tag `cicp` (ICC.1:2022, 9.2.17 and 10.3)."""
    count = struct.unpack_from(">I", profile, 128)[0] if len(profile) >= 132 else 0
    for at in range(132, min(132 + 12 * count, len(profile) - 11), 12):
        name, offset, length = struct.unpack_from(">4sII", profile, at)
        if name == b"cicp" and length >= 12 and offset + 12 <= len(profile):
            return profile[offset + 8], profile[offset + 9]
    return None


def _is_adobe_rgb(picture: Image.Image) -> bool:
    try:
        exif = picture.getexif()
        said = exif.get_ifd(0x8769).get(0xA001), exif.get_ifd(0xA005).get(1)
    except Exception:
        # An EXIF block that is broken says nothing of the colours.
        return False
    return said == (UNCALIBRATED, OPTIONAL_COLOUR_SPACE)
