"""A JPEG of which only the marker at its end is missing has all its rows, and is shown."""

from __future__ import annotations

import hashlib
import io
import struct

from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile

END = b"\xff\xd9"
FILLING = (b"", bytes(64), b"\x55" * 64, b"\xaa" * 64)
"""What may stand where picture data is missing. Enough for more than one block."""
RESTARTS = tuple(bytes([0xFF, 0xD0 + number]) for number in range(8))
"""Markers that may stand between the pieces of a scan; one of them is the next, if a piece is missing."""


def with_its_end(picture: JpegImageFile, raw: bytes) -> JpegImageFile:
    """An opened JPEG, from ``raw``, opened anew with its end if nothing but that is missing.

    The decoder fills up what is missing and does not tell. But a picture that comes out the same to the last
    bit whatever follows what is there has needed nothing of it. One in several scans stays as it is: whether
    another was to follow cannot be told.
    """
    start = picture.fp.tell() if picture.fp else 0
    if raw.rfind(END, start) >= 0 or not _one_scan(picture, raw[:start]):
        return picture
    there = raw.removesuffix(END[:1])
    seen = {_pixels(there + more.join((b"", *RESTARTS, END))) for more in FILLING}
    return _opened(there + END) if len(seen) == 1 and None not in seen else picture


def _one_scan(picture: JpegImageFile, until_first_scan: bytes) -> bool:
    """Whether the first scan has all channels, in full: its heading (ITU-T T.81, B.2.3) names each."""
    heading = struct.pack(">HB", 6 + 2 * picture.layers, picture.layers)
    return "progressive" not in picture.info and until_first_scan[-6 - 2 * picture.layers :].startswith(
        heading
    )


def _opened(raw: bytes) -> JpegImageFile:
    picture = Image.open(io.BytesIO(raw), formats=["JPEG"])
    if not isinstance(picture, JpegImageFile):
        raise TypeError("Another kind of picture with one more marker.")
    return picture


def _pixels(raw: bytes) -> bytes | None:
    """What is seen of it, in short; None when it cannot be decoded."""
    try:
        return hashlib.sha256(_opened(raw).tobytes()).digest()
    except OSError:
        return None
