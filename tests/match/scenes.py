"""Pictures of which everything is known: a photo that a package ships, with a card drawn into it, in another
light and another frame."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image
from skimage.data import astronaut

from continuity.match.light import Codes, Floats, linear_light
from continuity.match.patches import Circle
from continuity.match.reference import card_linear

SCALE = 6
"""The shipped photo is small; a piece of it is made larger, about what a phone gives of a face."""

WIDTH, HEIGHT = 380 * SCALE, 252 * SCALE

GRAIN, GRAIN_SIZE = 0.02, 3
"""Two hundredths of the light, and pixels. Constructed here."""

GREY_AT = (330, 1040)
GREY_HALF = 110
GREY_SPOT = Circle(*GREY_AT, 90)
CARD_AT = (1410, 20)
PITCH = 120

SPOTS = {
    # The smoothest places of the shipped photo, found by the spread of its L*a*b*.
    "forehead": Circle(1110, 420, 54),
    "cheek": Circle(1260, 603, 60),
    "jaw": Circle(990, 816, 60),
    "suit": Circle(348, 1260, 45),
    "sleeve": Circle(1644, 1392, 45),
    "flag": Circle(120, 840, 45),
}
BACKDROP = Circle(1590, 810, 45)
"""Nearly grey and quite smooth."""


def encoded(linear: Floats) -> Codes:
    """Linear light as codes, by the curve of IEC 61966-2-1."""
    clipped = np.clip(linear, 0, 1)
    curve = np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(curve * 255), dtype=np.uint8)


def portrait() -> Floats:
    """The face of scikit-image's ``astronaut`` (a portrait by NASA, public domain, shipped in the package)
    with what is round it, ``(1512, 2280, 3)``, in linear light."""
    face = Image.fromarray(astronaut()[20:272, 40:420])  # type: ignore[no-untyped-call]
    large = face.resize((face.width * SCALE, face.height * SCALE), Image.Resampling.BICUBIC)
    # Nothing burnt out or black, so that every colour can come back.
    return np.asarray(0.02 + 0.75 * linear_light(np.asarray(large)))


def with_grey_card(linear: Floats) -> Floats:
    """A grey of 18 % reflectance, 220 pixels across."""
    scene = linear.copy()
    x, y = GREY_AT
    scene[y - GREY_HALF : y + GREY_HALF, x - GREY_HALF : x + GREY_HALF] = 0.18
    return scene


def with_24_patches(linear: Floats) -> Floats:
    """The card of 24 patches, 100 pixels each on black, upright."""
    scene = linear.copy()
    x, y = CARD_AT
    scene[y : y + 4 * PITCH, x : x + 6 * PITCH] = 0.03
    for patch, colour in enumerate(np.clip(card_linear(), 0, 1)):
        left, top = x + (patch % 6) * PITCH + 10, y + (patch // 6) * PITCH + 10
        scene[top : top + PITCH - 20, left : left + PITCH - 20] = colour
    return scene


def corners_of_24() -> Floats:
    """The middles of its four corner patches, going round from "dark skin", in pixels."""
    x, y = CARD_AT[0] + PITCH / 2, CARD_AT[1] + PITCH / 2
    return np.array([[x, y], [x + 5 * PITCH, y], [x + 5 * PITCH, y + 3 * PITCH], [x, y + 3 * PITCH]])


def in_other_light(linear: Floats, *, cast: tuple[float, float, float], exposure: float) -> Floats:
    """Every channel multiplied, as a lamp of another colour and another aperture do."""
    return np.asarray(linear * np.array(cast) * exposure)


def grained(linear: Floats, seed: int) -> Floats:
    """With the noise that a phone's own smoothing leaves: blotches some pixels across, each channel its own.

    What is drawn is too even to be a photo: all blocks of a JPEG are then rounded the same way.
    """
    from scipy.ndimage import gaussian_filter

    noise = np.random.default_rng(seed).standard_normal(linear.shape)
    blotches = gaussian_filter(noise, sigma=(GRAIN_SIZE, GRAIN_SIZE, 0))
    return np.asarray(linear * (1 + GRAIN * blotches / blotches.std()))


class Frame:
    """Another frame: turned about the middle and made larger or smaller, then moved, in pixels. A picture of
    it is as large as the scene."""

    def __init__(self, *, degrees: float, scale: float, shift: tuple[float, float]) -> None:
        turn = np.deg2rad(degrees)
        self.matrix = scale * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        middle = np.array([WIDTH / 2, HEIGHT / 2])
        self.shift = middle + np.array(shift) - self.matrix @ middle
        self.scale = scale

    def places(self, points: Floats) -> Floats:
        return np.asarray(np.asarray(points) @ self.matrix.T + self.shift)

    def circle(self, circle: Circle) -> Circle:
        x, y = self.places(np.array([circle.x, circle.y]))
        return Circle(float(x), float(y), circle.radius * self.scale)

    def picture(self, linear: Floats) -> Floats:
        """The scene in this frame, each pixel between its four neighbours."""
        from scipy.ndimage import map_coordinates

        rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH]
        points = np.column_stack([columns.ravel() + 0.5, rows.ravel() + 0.5])
        back = (points - self.shift) @ np.linalg.inv(self.matrix).T - 0.5
        channels = [
            map_coordinates(linear[..., channel], [back[:, 1], back[:, 0]], order=1, mode="nearest")
            for channel in range(3)
        ]
        return np.stack(channels, axis=-1).reshape(linear.shape)


def as_jpeg(linear: Floats, quality: int = 80) -> bytes:
    file = io.BytesIO()
    Image.fromarray(encoded(linear)).save(file, "JPEG", quality=quality)
    return file.getvalue()


def through_jpeg(linear: Floats, quality: int = 80) -> Codes:
    """What is left of a scene after a JPEG."""
    return np.asarray(Image.open(io.BytesIO(as_jpeg(linear, quality))).convert("RGB"))
