"""Pictures drawn for the tests. None is of anybody."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import pillow_heif
from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

GPS_MARK = b"GPS-mark-47.3769N"
DEVICE_MARK = b"Device-mark-Phone-9"
MAKER_MARK = b"Maker-mark-secret-note"
SERIAL_MARK = b"Serial-mark-0042-77"
THUMBNAIL_MARK = b"Thumbnail-mark-inside"
MARKS = (GPS_MARK, DEVICE_MARK, MAKER_MARK, SERIAL_MARK, THUMBNAIL_MARK)
FORMATS = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/webp": "WEBP",
    "image/heic": "HEIF",
}


def drawing(width: int = 64, height: int = 48) -> Image.Image:
    """Four corners of unlike colours, so that no turning or mirroring looks like another."""
    picture = Image.new("RGB", (width, height), (128, 128, 128))
    draw = ImageDraw.Draw(picture)
    across, down = width // 2, height // 2
    corners = {
        (0, 0): (220, 30, 30),
        (across, 0): (30, 200, 30),
        (0, down): (30, 30, 220),
        (across, down): (230, 220, 40),
    }
    for (left, top), colour in corners.items():
        draw.rectangle((left, top, left + across - 1, top + down - 1), fill=colour)
    return picture


def jpeg(width: int = 64, height: int = 48, *, quality: int = 90, seed: int = 0) -> bytes:
    """A JPEG; another ``seed`` is another file."""
    picture = drawing(width, height)
    picture.putpixel((1, 1), (seed % 256, seed // 256 % 256, 255))
    return encoded(picture, "JPEG", quality=quality, comment=f"{seed}".encode())


def noisy_jpeg(size_at_least: int) -> bytes:
    """A JPEG of at least so many bytes."""
    picture = Image.effect_noise((1400, 1000), 90).convert("RGB")
    raw = encoded(picture, "JPEG", quality=95)
    assert len(raw) >= size_at_least
    return raw


def encoded(picture: Image.Image, format_name: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, format_name, **options)
    return buffer.getvalue()


def heic(picture: Image.Image, orientation: int = 1, **options: Any) -> bytes:
    """A HEIC, turned by `irot` and `imir` so that a viewer shows it as EXIF's ``orientation`` would."""
    pillow_heif.register_heif_opener()
    if "exif" not in options:
        exif = Image.Exif()
        exif[0x0112] = orientation
        options["exif"] = exif.tobytes()
    return encoded(picture, "HEIF", **{"quality": 92, **options})


def tiff_block(orientation: int, thumbnail: bytes) -> bytes:
    """An EXIF block, without the heading "Exif", as cameras write it: device, place, serial number, maker's
    note, and a second directory with a small picture. Put together by hand, after TIFF 6.0 and Exif 2.3 (tag
    numbers from memory; the tests read it with another library before they look for what is left of it)."""
    device = DEVICE_MARK + b"\0"
    serial = SERIAL_MARK + b"\0"
    date = GPS_MARK + b"\0"
    latitude = struct.pack(">6I", 47, 1, 22, 1, 36, 1)
    first = [(0x010F, 2, device), (0x0110, 2, device), (0x0112, 3, struct.pack(">H", orientation))]
    camera = [(0x927C, 7, MAKER_MARK), (0xA431, 2, serial), (0xA435, 2, serial)]
    place = [(1, 2, b"N\0"), (2, 5, latitude), (3, 2, b"E\0"), (4, 5, latitude), (29, 2, date)]
    small = [(0x0103, 3, struct.pack(">H", 6)), (0x0201, 4, b"\0" * 4), (0x0202, 4, b"\0" * 4)]
    widths = {2: 1, 3: 2, 4: 4, 5: 8, 7: 1}
    block = bytearray(b"MM\0*\0\0\0\x08")

    def directory(entries: list[tuple[int, int, bytes]]) -> int:
        start = len(block)
        block.extend(struct.pack(">H", len(entries)) + bytes(12 * len(entries) + 4))
        for number, (tag, sort, value) in enumerate(entries):
            struct.pack_into(">HHI", block, start + 2 + 12 * number, tag, sort, len(value) // widths[sort])
            if len(value) <= 4:
                block[start + 10 + 12 * number : start + 10 + 12 * number + len(value)] = value
            else:
                struct.pack_into(">I", block, start + 10 + 12 * number, len(block))
                block.extend(value)
        return start

    pointers = [(0x8769, 4, b"\0" * 4), (0x8825, 4, b"\0" * 4)]
    directory([*first, *pointers])
    for number, entries in ((3, camera), (4, place)):
        struct.pack_into(">I", block, 8 + 10 + 12 * number, directory(entries))
    struct.pack_into(">I", block, 8 + 2 + 12 * 5, len(block))
    last = directory(small)
    struct.pack_into(">I", block, last + 10 + 12, len(block))
    struct.pack_into(">I", block, last + 10 + 24, len(thumbnail))
    return bytes(block) + thumbnail


def colour_space_exif(colour_space: int, index: bytes) -> bytes:
    """What a camera says of its colours: EXIF's ColorSpace (0xA001) and, in the directory that 0xA005 points
    to, the InteroperabilityIndex (1). Put together by hand, after TIFF 6.0 and Exif 2.3."""

    def directory(*entries: bytes) -> bytes:
        return struct.pack(">H", len(entries)) + b"".join(entries) + bytes(4)

    first = directory(struct.pack(">HHII", 0x8769, 4, 1, 8 + 18))
    camera = directory(
        struct.pack(">HHIHxx", 0xA001, 3, 1, colour_space), struct.pack(">HHII", 0xA005, 4, 1, 8 + 18 + 30)
    )
    kind = directory(struct.pack(">HHI4s", 1, 2, 4, index + b"\0"), struct.pack(">HHI4s", 2, 7, 4, b"0100"))
    return b"Exif\0\0MM\0*\0\0\0\x08" + first + camera + kind


def with_everything(picture: Image.Image, media_type: str, orientation: int = 1) -> bytes:
    """A picture with a place, a device, its serial number, a maker's note, a thumbnail and a comment."""
    exif = b"Exif\0\0" + tiff_block(orientation, encoded(drawing(40, 30), "JPEG", comment=THUMBNAIL_MARK))
    options: dict[str, object] = {"exif": exif, "xmp": b"<x:xmpmeta>" + GPS_MARK + b"</x:xmpmeta>"}
    if media_type in {"image/heic", "image/heif"}:
        # The encoder turns by boxes of its own, as phones do, and leaves 1 in the EXIF block.
        return heic(picture, orientation, **options)
    if media_type == "image/jpeg":
        options |= {"quality": 92, "comment": MAKER_MARK}
    if media_type == "image/png":
        words = PngInfo()
        words.add_text("Comment", MAKER_MARK.decode())
        words.add_itxt("XML:com.adobe.xmp", str(options.pop("xmp")))
        options["pnginfo"] = words
    return encoded(picture, FORMATS[media_type], **options)


def bomb_png(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it has this many pixels."""

    def chunk(name: bytes, content: bytes) -> bytes:
        body = name + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
