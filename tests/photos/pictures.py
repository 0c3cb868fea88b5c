"""Pictures drawn for the tests. None is of anybody."""

from __future__ import annotations

import io
import struct
import zlib

import pillow_heif
from PIL import Image, ImageDraw

GPS_MARK = b"GPS-mark-47.3769N"
DEVICE_MARK = b"Device-mark-Phone-9"
MAKER_MARK = b"Maker-mark-secret-serial"


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


def heic(picture: Image.Image, **options: object) -> bytes:
    buffer = io.BytesIO()
    pillow_heif.from_pillow(picture).save(buffer, quality=90, **options)
    return buffer.getvalue()


def with_everything(picture: Image.Image, format_name: str, orientation: int = 1) -> bytes:
    """A picture with a place, a device, a maker's note, a thumbnail and a comment in it."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = DEVICE_MARK.decode()
    exif[0x0110] = DEVICE_MARK.decode()
    exif[0x0131] = DEVICE_MARK.decode()
    exif.get_ifd(0x8825).update(
        {1: "N", 2: (47.0, 22.0, 36.0), 3: "E", 4: (8.0, 32.0, 30.0), 29: GPS_MARK.decode()}
    )
    exif.get_ifd(0x8769).update(
        {0x927C: MAKER_MARK, 0xA431: DEVICE_MARK.decode(), 0xA433: DEVICE_MARK.decode()}
    )
    options: dict[str, object] = {"exif": exif.tobytes()}
    if format_name == "JPEG":
        options |= {"quality": 92, "comment": MAKER_MARK}
    if format_name in {"JPEG", "WEBP"}:
        options["xmp"] = b"<x:xmpmeta>" + GPS_MARK + b"</x:xmpmeta>"
    return encoded(picture, format_name, **options)


def bomb_png(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it has this many pixels."""

    def chunk(name: bytes, content: bytes) -> bytes:
        body = name + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
