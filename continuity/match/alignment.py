"""Laying one photo over another by points marked on both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from continuity.match.light import Floats


class CannotAlign(ValueError):
    """The points do not say how one photo lies over the other."""


@dataclass(frozen=True)
class Alignment:
    """A point ``p`` goes to ``matrix @ p + shift``. ``scale`` is how much larger it becomes, ``turn`` how far
    it is turned, in radians from the x axis towards the y axis; ``error`` is the mean squared distance left
    between the points, in squared units of theirs."""

    matrix: Floats
    shift: Floats
    scale: float
    turn: float
    error: float

    def moved(self, points: Floats) -> Floats:
        """Points of the first photo, ``(n, 2)``, where they lie in the second."""
        return np.asarray(points @ self.matrix.T + self.shift)


def alignment_between(first: Floats, second: Floats) -> Alignment:
    """The similarity (turn, scale, shift) with the least squared distance, of two or more points, ``(n, 2)``
    in units that are as long down as across. Never a mirror: that would be another face.

    S. Umeyama, "Least-squares estimation of transformation parameters between two point patterns", IEEE
    Transactions on Pattern Analysis and Machine Intelligence 13(4):376-380, 1991, in scikit-image. Raises
    `CannotAlign` for points that fall together.
    """
    from skimage.transform import SimilarityTransform

    if first.shape != second.shape or len(first) < 2:
        raise CannotAlign("As many points are needed on either photo, and two at least.")
    found = SimilarityTransform.from_estimate(first, second)
    if not found or not np.isfinite(found.params).all() or not found.scale > 0:
        raise CannotAlign("The points fall together.")
    matrix = np.asarray(found.params[:2, :2])
    shift = np.asarray(found.params[:2, 2])
    error = float((((first @ matrix.T + shift) - second) ** 2).sum(axis=1).mean())
    return Alignment(matrix, shift, float(found.scale), float(found.rotation), error)
