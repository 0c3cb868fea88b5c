"""A colour profile for pictures that name their colours by number instead of carrying a profile."""

from __future__ import annotations

import functools
import struct

from PIL import ImageCms

# The columns of Display P3's matrix to CIE XYZ, adapted to D50 by Bradford's method: from the primaries of
# SMPTE EG 432-1 and the white point D65 (values from memory; a test works them out from the primaries).
DISPLAY_P3 = {
    b"rXYZ": (0.51512, 0.24120, -0.00105),
    b"gXYZ": (0.29198, 0.69225, 0.04189),
    b"bXYZ": (0.15710, 0.06657, 0.78407),
}


@functools.cache
def display_p3() -> bytes:
    """An ICC profile of Display P3: the curve and white of sRGB, with the primaries exchanged."""
    raw = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    (count,) = struct.unpack_from(">I", raw, 128)
    for number in range(count):
        name, offset, _ = struct.unpack_from(">4sII", raw, 132 + 12 * number)
        if name in DISPLAY_P3:
            struct.pack_into(">3i", raw, offset + 8, *(round(value * 65536) for value in DISPLAY_P3[name]))
    return bytes(raw)
