"""The colours of two photos, patch by patch: from pictures and marked places to numbers and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from continuity.match.alignment import CannotAlign, alignment_between
from continuity.match.card import NO_CARD, Balance, balance_from_24, balance_from_grey
from continuity.match.contrast import Contrast, contrast_between
from continuity.match.difference import (
    SEED,
    Difference,
    Drawn,
    difference_between,
    draws_of,
    mean_of,
    spread_of,
)
from continuity.match.documents import Card, CardSort, PatchRole, Point, Spot
from continuity.match.light import Codes, Floats
from continuity.match.patches import Circle, patch_of

WITHOUT_COLOUR = 1.5
"""Mean distance between the channels of a picture, in codes, up to which it has no colour. Chosen here."""
POINTS_OFF = 0.03
"""Distance left between points laid over each other, of that between the furthest. Chosen here."""
PATCH_SMALL = 6.0
"""Radius of a spot in pixels; smaller, a JPEG's blocks mix it with what is beside it. Chosen here."""
PATCH_CLIPPED = 0.01


@dataclass(frozen=True)
class Reading:
    """What one photo says. ``spreads`` in CIEDE2000; ``points`` are those to align by, in pixels."""

    colours: Mapping[str, Drawn]
    spreads: Mapping[str, float]
    points: Floats
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Measurement:
    """Two readings against each other. Without a difference there are reasons."""

    differences: Mapping[str, Difference]
    contrast: Contrast | None
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]


def read_photo(
    picture: Codes, card: Card, spots: Mapping[str, tuple[str, Spot]], align: list[Point], stream: int
) -> Reading:
    """The balanced colours of an upright sRGB picture, ``(height, width, 3)``. ``spots`` has, by a key, the
    name by which each is told of and where it is; ``stream`` numbers the photo, so that two are drawn apart
    and the same one always alike."""
    height, width = picture.shape[:2]
    balance = _balance(picture, card)
    reasons, cautions = list(balance.reasons), list(balance.cautions)
    if _without_colour(picture):
        reasons.append("it has no colour")
    patches = {key: patch_of(picture, _circle(picture, spot)) for key, (_, spot) in spots.items()}
    for key, patch in patches.items():
        name = spots[key][0]
        if patch.clipped >= PATCH_CLIPPED:
            cautions.append(f"{name} is clipped in part")
        if patch.radius < PATCH_SMALL:
            cautions.append(f"{name} is too small: {2 * patch.radius:.0f} pixels across are marked")
    random = np.random.default_rng([SEED, stream])
    return Reading(
        colours=draws_of(patches, balance.gains, balance.deviations, random),
        spreads={key: spread_of(patch, balance.gains) for key, patch in patches.items()},
        points=np.array([[point.x * width, point.y * height] for point in align]).reshape(-1, 2),
        reasons=tuple(reasons),
        cautions=tuple(cautions),
    )


def compare(then: Reading, now: Reading, roles: Mapping[str, PatchRole]) -> Measurement:
    """Each patch then and now, and the piece against the skin. Several pieces are taken together, and several
    spots of skin."""
    reasons = _told(then.reasons, now.reasons)
    cautions = _told(then.cautions, now.cautions)
    cautions += _points_off(then.points, now.points)
    if reasons:
        return Measurement({}, None, tuple(reasons), tuple(cautions))
    differences = {key: difference_between(then.colours[key], now.colours[key]) for key in roles}
    pieces = [key for key, role in roles.items() if role == PatchRole.PIECE]
    skin = [key for key, role in roles.items() if role == PatchRole.SKIN]
    contrast = None
    if pieces and skin:
        contrast = contrast_between(
            *(
                mean_of([reading.colours[key] for key in keys])
                for reading in (then, now)
                for keys in (pieces, skin)
            )
        )
    return Measurement(differences, contrast, (), tuple(cautions))


def _balance(picture: Codes, card: Card) -> Balance:
    height, width = picture.shape[:2]
    if card.sort == CardSort.GREY and card.spot:
        return balance_from_grey(patch_of(picture, _circle(picture, card.spot)))
    if card.sort == CardSort.PATCHES_24 and card.corners:
        return balance_from_24(picture, [(corner.x * width, corner.y * height) for corner in card.corners])
    return NO_CARD


def _circle(picture: Codes, spot: Spot) -> Circle:
    height, width = picture.shape[:2]
    return Circle(spot.x * width, spot.y * height, spot.radius * max(height, width))


def _without_colour(picture: Codes) -> bool:
    seen = picture[::8, ::8].astype(np.int16)
    return float(np.ptp(seen, axis=2).mean()) <= WITHOUT_COLOUR


def _points_off(then: Floats, now: Floats) -> list[str]:
    """A caution when the points cannot be the same places on the face."""
    if len(then) < 2:
        return []
    try:
        alignment = alignment_between(then, now)
    except CannotAlign as problem:
        return [f"The photos cannot be laid over each other: {problem}"]
    furthest = float(np.hypot(*(now[:, None] - now[None, :]).reshape(-1, 2).T).max())
    if alignment.error**0.5 > POINTS_OFF * furthest:
        return ["The points marked in the two photos do not lie over each other."]
    return []


def _told(then: Sequence[str], now: Sequence[str]) -> list[str]:
    return [f"The established photo: {words}." for words in then] + [
        f"Today's photo: {words}." for words in now
    ]
