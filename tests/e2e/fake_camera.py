"""What the browser's fake camera sees: real photographs that scikit-image carries, sharp, blurred and dark.

A video file is read anew each time the camera is opened, so what it sees can be changed in between.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import skimage
from PIL import Image, ImageEnhance, ImageFilter

PHOTOGRAPH = Path(skimage.__file__).parent / "data" / "astronaut.png"  # public domain, as skimage.data says
SIZE = (384, 512)  # upright, as a phone is held
FRAMES = 4
QUALITY = 92

Change = Callable[[Image.Image], Image.Image]


def as_it_is(picture: Image.Image) -> Image.Image:
    return picture


def out_of_focus(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(3))


def in_the_dark(picture: Image.Image) -> Image.Image:
    return ImageEnhance.Brightness(picture).enhance(0.16)


class FakeCamera:
    """``path`` is the video the browser is given; `see` changes what is in it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.see(as_it_is)

    def see(self, change: Change) -> None:
        with Image.open(PHOTOGRAPH) as whole:
            left = (whole.width - SIZE[0]) // 2
            picture = change(whole.convert("RGB").crop((left, 0, left + SIZE[0], SIZE[1])))
        frame = io.BytesIO()
        picture.save(frame, "JPEG", quality=QUALITY, subsampling="4:2:0")
        self.path.write_bytes(frame.getvalue() * FRAMES)

    @property
    def flags(self) -> list[str]:
        return ["--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={self.path}"]
