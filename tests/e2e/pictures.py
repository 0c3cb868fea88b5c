"""Photos as a phone takes them: lying on their side, with the place and the device written into them."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image, ImageDraw

SIZE = (1200, 900)
UPRIGHT = (900, 1200)
TURN_RIGHT = 6  # Exif orientation: the camera was held upright.
DEVICE = "Invented handset of the tests"
PLACE: dict[int, Any] = {
    ExifTags.GPS.GPSLatitudeRef: "N",
    ExifTags.GPS.GPSLatitude: (51.0, 30.0, 0.0),
    ExifTags.GPS.GPSLongitudeRef: "W",
    ExifTags.GPS.GPSLongitude: (0.0, 7.0, 39.0),
}


def take_photo(path: Path, words: str) -> Path:
    """Writes a JPEG with `words` on it, and returns its path."""
    picture = Image.new("RGB", SIZE, (176, 138, 116))
    pen = ImageDraw.Draw(picture)
    pen.ellipse((420, 250, 780, 650), fill=(214, 172, 146), outline=(120, 40, 40), width=12)
    pen.text((40, 40), words, fill=(20, 20, 20), font_size=48)
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = TURN_RIGHT
    exif[ExifTags.Base.Model] = DEVICE
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(PLACE)
    picture.save(path, "JPEG", exif=exif, quality=88)
    return path


def tells_place_or_device(content: bytes) -> bool:
    with Image.open(io.BytesIO(content)) as picture:
        exif = picture.getexif()
        place = bool(exif.get_ifd(ExifTags.IFD.GPSInfo))
    return place or DEVICE.encode() in content
