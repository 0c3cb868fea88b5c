"""The colour of a round piece of a picture, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from continuity.match.light import LUMINANCE, Codes, Floats, linear_light, rounding_of

DARKEST, BRIGHTEST = 2, 253
"""Codes up to which, and from which, a channel is clipped. Chosen here: a JPEG smears 0 and 255 a little."""

PLACED = 0.1
"""How exactly a spot is placed on a face, in its radius: a standard deviation, either way. Chosen here."""

STRAYS = 3.0
"""Pixels further from the median luminance than so many standard deviations (1.4826 times the median absolute
deviation, which equals them for a normal distribution) are hairs, pores and glints. Chosen here."""


@dataclass(frozen=True)
class Circle:
    """A round piece of a picture, in pixels from its top left corner."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Patch:
    """What was found in a spot, all in linear light.

    ``mean`` is the mean colour without strays, ``(3,)``; ``pieces`` the mean of each piece of the spot that
    has pixels, ``(up to 12, 3)``, and ``places`` where each lies from the middle, in radii, ``(…, 2)``;
    ``pixels`` those kept, ``(n, 3)``. ``clipped`` is the share of all pixels of the spot in which a channel
    is, ``strays`` that of those left out. ``radius`` is in pixels.
    """

    mean: Floats
    pieces: Floats
    places: Floats
    pixels: Floats
    clipped: float
    strays: float
    radius: float

    @property
    def deviations(self) -> Floats:
        """What the mean might be off by: the sum of the products of these is its covariance, ``(n, 3)``.

        The pixels of a photo are no independent witnesses: a JPEG's blocks, the sharpening and the skin tie
        neighbours together. Whole pieces of the spot nearly are. That the light slopes across the spot is no
        chance but the shape of the face, so it is taken out of them by least squares; it counts by how far
        off a finger may have placed the spot. What rounding leaves is added.
        """
        terms = np.column_stack([np.ones(len(self.pieces)), self.places])
        rounding = np.diag(rounding_of(self.mean))
        freedom = len(self.pieces) - terms.shape[1]
        if freedom < 1:
            return rounding
        slope = np.linalg.lstsq(terms, self.pieces, rcond=None)[0]
        chance = (self.pieces - terms @ slope) / np.sqrt(len(self.pieces) * freedom)
        return np.vstack([chance, PLACED * slope[1:], rounding])


def patch_of(picture: Codes, circle: Circle) -> Patch:
    """The colour in a circle of an upright sRGB picture, ``(height, width, 3)``. What lies outside the
    picture is left out; the pixel nearest to the middle is always taken."""
    height, width = picture.shape[:2]
    left, right = _window(circle.x, circle.radius, width)
    top, bottom = _window(circle.y, circle.radius, height)
    rows, columns = np.mgrid[top:bottom, left:right]
    across, down = columns + 0.5 - circle.x, rows + 0.5 - circle.y
    distance = across**2 + down**2
    inside = distance <= max(circle.radius, 0.5) ** 2
    if not inside.any():
        inside = distance == distance.min()
    codes = picture[top:bottom, left:right][inside]
    linear = linear_light(codes)
    luminance = linear @ LUMINANCE
    median = np.median(luminance)
    allowed = STRAYS * 1.4826 * np.median(np.abs(luminance - median))
    # In a drawn surface most pixels are one colour, and the deviation is nothing.
    kept = np.abs(luminance - median) <= max(allowed, 0.02 * median, 1e-4)
    # Twelve pieces of one size: three rings of four quarters.
    ring = np.minimum((3 * distance[inside] / max(circle.radius, 0.5) ** 2).astype(int), 2)
    quarter = 2 * (down[inside] > 0).astype(int) + (across[inside] > 0).astype(int)
    piece = 4 * ring + quarter
    found = np.unique(piece[kept])
    place = np.column_stack([across[inside], down[inside]]) / max(circle.radius, 0.5)
    return Patch(
        mean=linear[kept].mean(axis=0),
        pieces=np.array([linear[kept & (piece == one)].mean(axis=0) for one in found]),
        places=np.array([place[kept & (piece == one)].mean(axis=0) for one in found]),
        pixels=linear[kept],
        clipped=float(((codes <= DARKEST) | (codes >= BRIGHTEST)).any(axis=1).mean()),
        strays=float(1 - kept.mean()),
        radius=circle.radius,
    )


def _window(middle: float, radius: float, length: int) -> tuple[int, int]:
    """From where to where a circle reaches along a side of the picture: one pixel at least."""
    first = min(max(0, int(middle - radius)), length - 1)
    return first, max(first + 1, min(length, int(middle + radius) + 2))
