"""White balance and exposure from a card in the picture, and what of the light the card gives away.

Both are three gains in linear light (von Kries, on the channels of sRGB): what is known of the card divided
by what it is in the picture. A grey card is one grey; the card of 24 patches has six, and colours besides.

How each fault is told, and what cannot be told. All the bounds are chosen here.

- Clipped: a channel is full or empty in a part of the card. What a phone has clipped and then drawn back by
  its own curve cannot be told.
- Too small: the card has too few pixels across, so that a JPEG's blocks mix it with what is beside it.
- Unevenly lit: the lightness of the card's pieces differs. A light that falls on the face and not on the card
  cannot be told from the card.
- Mixed light: the *colour* of the card's pieces, or of its greys, differs, because two lights of different
  colour reach different parts of it. Two lights that mix evenly over the card but not over the face cannot be
  told.
- A phone's filter: the greys of the 24 patches are out of order, their steps are steeper or flatter than a
  camera's, or the colours are far stronger or weaker than the card's. From one grey nothing of this can be
  told, except that a picture has no colour at all.
- Not the card: what is marked is strongly coloured, or the 24 patches are not found between the corners.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from continuity.match.difference import ciede2000
from continuity.match.light import GREY_CARD, LUMINANCE, Codes, Floats, lab_of, rounding_of
from continuity.match.patches import Circle, Patch, patch_of
from continuity.match.reference import COLUMNS, NEUTRALS, ROWS, card_linear

CLIPPED_A_LITTLE, CLIPPED = 0.01, 0.10
"""Shares of the card's pixels."""
PATCHY_A_LITTLE, PATCHY = 0.10, 0.20
"""Shares of the spot's pixels that are strays."""
GREY_SMALL, GREY_TOO_SMALL = 12.0, 6.0
PATCH_SMALL, PATCH_TOO_SMALL = 7.5, 3.75
"""Radii of what is measured, in pixels; a JPEG's block is 8 across."""
UNEVEN_A_LITTLE, UNEVEN = 3.0, 10.0
"""In L*, across the card."""
MIXED_A_LITTLE, MIXED = 2.5, 5.0
"""In CIE a*b*, across the card or between its greys."""
STRONGLY_COLOURED = 30.0
"""Chroma C*ab before balancing, more than an ordinary lamp leaves after a phone's own balance."""
TOO_DARK = 0.004
"""In linear light; darker, a code of 8 bits is a step of a tenth."""
STEEP_A_LITTLE, STEEP = 1.4, 2.0
"""Contrast of the greys, or chroma of the colours: so many times the card's, or the card's so many times."""
FOUND = 0.9
"""Correlation of the 24 logarithms of luminance with the card's, under which they are not its patches."""
CARD_OFF = 6.0
"""Mean CIEDE2000 of the 18 colours after balancing; phones as they come lie below."""
PATCH_SHARE = 0.28
"""Radius measured in each of the 24 patches, of the distance to the next. A patch reaches to about 0.42; the
rest is for corners that a finger has marked. Larger is surer: of a known shift, in twelve pairs of photos at
quality 80, the error (root mean square, CIEDE2000) was 16 to 19 % less than with 0.22, and 14 % less where
the corners were off by a tenth of the distance."""


@dataclass(frozen=True)
class Balance:
    """``gains`` multiply red, green and blue in linear light, ``(3,)``. The sum of the products of
    ``deviations``, ``(n, 3)``, is the covariance of their logarithms. ``reasons`` say why the picture cannot
    be measured; ``cautions`` what makes it less sure."""

    gains: Floats
    deviations: Floats
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


NO_CARD = Balance(
    np.ones(3), np.zeros((1, 3)), ("there is no card in it, so neither white nor exposure is known",)
)


class _Findings:
    def __init__(self) -> None:
        self.reasons: list[str] = []
        self.cautions: list[str] = []

    def judge(self, value: float, caution_from: float, reason_from: float, words: str) -> None:
        if value >= reason_from:
            self.reasons.append(words)
        elif value >= caution_from:
            self.cautions.append(words)

    def balance(self, gains: Floats, deviations: Floats) -> Balance:
        return Balance(gains, deviations, tuple(self.reasons), tuple(self.cautions))


def balance_from_grey(card: Patch) -> Balance:
    """Gains that make a spot inside a grey card a grey of 18 % reflectance.

    How much the light changes over half a card is taken for how little is known of the light on the face
    beside it.
    """
    found = _Findings()
    if card.mean.min() < TOO_DARK:
        found.reasons.append("the card is too dark to balance from")
        return found.balance(np.ones(3), np.zeros((1, 3)))
    gains = np.asarray(GREY_CARD / card.mean)
    found.judge(card.clipped, CLIPPED_A_LITTLE, CLIPPED, f"{_percent(card.clipped)} of the card is clipped")
    found.judge(
        -card.radius, -GREY_SMALL, -GREY_TOO_SMALL,
        f"the card is too small: {2 * card.radius:.0f} pixels across are marked",
    )  # fmt: skip
    found.judge(card.strays, PATCHY_A_LITTLE, PATCHY, "what is marked as the card is not one plain surface")
    colour = float(np.hypot(*lab_of(card.mean)[1:]))
    if colour > STRONGLY_COLOURED:
        found.cautions.append("what is marked as the card is strongly coloured: is it the card?")
    labs = lab_of(card.pieces * gains)
    lightness = float(np.ptp(labs[:, 0]))
    found.judge(
        lightness, UNEVEN_A_LITTLE, UNEVEN,
        f"the card is unevenly lit: its lightness differs by {lightness:.0f} L* across it",
    )  # fmt: skip
    hues = _widest(labs[:, 1:])
    found.judge(
        hues, MIXED_A_LITTLE, MIXED,
        f"mixed light: the card's colour differs by {hues:.0f} in a*b* across it",
    )  # fmt: skip
    terms = np.column_stack([np.ones(len(card.pieces)), card.places])
    slope = np.linalg.lstsq(terms, np.log(np.maximum(card.pieces, 1e-6)), rcond=None)[0]
    return found.balance(gains, np.vstack([card.deviations / card.mean, slope[1:]]))


def balance_from_24(picture: Codes, corners: Sequence[tuple[float, float]]) -> Balance:
    """Gains from the greys of the card of 24 patches: the geometric mean over those that are not clipped,
    without the black, in which stray light counts most. ``corners`` are the middles of the four corner
    patches in pixels, going round or not, from whichever."""
    found = _Findings()
    patches = _patches_between(picture, corners)
    reference = card_linear()
    measured = np.array([patch.mean for patch in patches])
    clipped = np.array([patch.clipped for patch in patches])
    radius = patches[0].radius
    found.judge(
        -radius, -PATCH_SMALL, -PATCH_TOO_SMALL,
        f"the card is too small: its patches are {radius / PATCH_SHARE:.0f} pixels apart",
    )  # fmt: skip
    if _likeness(measured) < FOUND:
        found.reasons.append("the 24 patches are not found between the corners marked")
        return found.balance(np.ones(3), np.zeros((1, 3)))
    greys = [grey for grey in NEUTRALS[:-1] if clipped[grey] < CLIPPED and measured[grey].min() >= TOO_DARK]
    lost = len(NEUTRALS) - 1 - len(greys)
    found.judge(lost, 1, 3, f"{lost} of the card's five lighter greys are clipped or too dark")
    if len(greys) < 3:
        return found.balance(np.ones(3), np.zeros((1, 3)))
    logs = np.log(reference[greys] / measured[greys])
    gains = np.asarray(np.exp(logs.mean(axis=0)))
    deviations = (logs - logs.mean(axis=0)) / np.sqrt(len(greys) * (len(greys) - 1))
    rounding = np.diag((rounding_of(measured[greys]) / measured[greys]).mean(axis=0) / np.sqrt(len(greys)))
    slope = _judge_light(found, measured * gains, greys, clipped)
    _judge_filter(found, measured * gains, greys, clipped)
    return found.balance(gains, np.vstack([deviations, rounding, slope]))


def _judge_light(found: _Findings, balanced: Floats, greys: list[int], clipped: Floats) -> Floats:
    """Unevenness and mixed light; returns how the light slopes across the card, as deviations of a logarithm.

    The logarithm of each patch's luminance against the card's is a plane across the card (the light) and a
    line over the card's own luminance (the picture's contrast), by least squares.
    """
    reference = card_linear()
    true = reference @ LUMINANCE
    # A colour outside sRGB has been clipped on its way into the picture.
    usable = (clipped < CLIPPED) & (reference.min(axis=1) > TOO_DARK) & (balanced.min(axis=1) > 0)
    column, row = np.arange(24) % COLUMNS, np.arange(24) // COLUMNS
    terms = np.column_stack([np.ones(24), column - 2.5, row - 1.5, np.log(true / GREY_CARD)])[usable]
    seen = np.log((balanced @ LUMINANCE) / true)[usable]
    _, across, down, contrast = np.linalg.lstsq(terms, seen, rcond=None)[0]
    # The slope of L* over the logarithm of luminance at the grey card: 116/3 times its cube root.
    lightness = (abs(across) * (COLUMNS - 1) + abs(down) * (ROWS - 1)) * 116 / 3 * GREY_CARD ** (1 / 3)
    found.judge(
        lightness, UNEVEN_A_LITTLE, UNEVEN,
        f"the card is unevenly lit: its lightness differs by {lightness:.0f} L* across it",
    )  # fmt: skip
    steepness = max(1 + contrast, 1 / max(1 + contrast, 1e-3))
    found.judge(
        steepness, STEEP_A_LITTLE, STEEP,
        f"a filter: the steps of the card are {1 + contrast:.2f} times as steep as they are",
    )  # fmt: skip
    # The darkest are left out: there a code is a large step of a*b*.
    lighter = [grey for grey in greys if true[grey] >= GREY_CARD] or greys
    labs, true_labs = lab_of(balanced[lighter]), lab_of(reference[lighter])
    hues = _widest((labs - true_labs)[:, 1:])
    found.judge(hues, MIXED_A_LITTLE, MIXED, f"mixed light: the card's greys differ by {hues:.0f} in a*b*")
    return np.array([[across * column.std()] * 3, [down * row.std()] * 3])


def _judge_filter(found: _Findings, balanced: Floats, greys: list[int], clipped: Floats) -> None:
    reference = card_linear()
    lightness = (balanced @ LUMINANCE)[greys]
    if not (np.diff(lightness) < 0).all():
        found.reasons.append("a filter or a glint: the card's greys do not get darker one by one")
    colours = [patch for patch in range(18) if clipped[patch] < CLIPPED and reference[patch].min() > 0]
    if len(colours) < 6:
        found.cautions.append("most of the card's colours are clipped")
        return
    labs, true = lab_of(balanced[colours]), lab_of(reference[colours])
    stronger = float(np.median(np.hypot(*labs[:, 1:].T) / np.hypot(*true[:, 1:].T)))
    found.judge(
        max(stronger, 1 / max(stronger, 1e-3)), STEEP_A_LITTLE, STEEP,
        f"a filter: the card's colours are {stronger:.2f} times as strong as they are",
    )  # fmt: skip
    off = float(ciede2000(labs, true).mean())
    if off >= CARD_OFF:
        found.cautions.append(f"the card's own colours come out {off:.0f} CIEDE2000 off in the mean")


def _patches_between(picture: Codes, corners: Sequence[tuple[float, float]]) -> list[Patch]:
    """The 24 patches in the card's own order, whichever way up it lies, or seen in a mirror."""
    from skimage.transform import ProjectiveTransform

    points = np.array(corners, dtype=np.float64)
    middle = points.mean(axis=0)
    round_about = points[np.argsort(np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0]))]
    card = np.array([[0, 0], [COLUMNS - 1, 0], [COLUMNS - 1, ROWS - 1], [0, ROWS - 1]], dtype=np.float64)
    grid = np.array([[column, row] for row in range(ROWS) for column in range(COLUMNS)], dtype=np.float64)
    best: list[Patch] = []
    for way in (round_about, round_about[::-1]):
        for turn in range(4):
            with np.errstate(all="ignore"):
                lie = ProjectiveTransform.from_estimate(card, np.roll(way, turn, axis=0))  # type: ignore[no-untyped-call]
                places = lie(grid) if lie else np.full_like(grid, np.nan)
            if not np.isfinite(places).all():
                continue  # Corners that fall together, or three in a line, are no card.
            radius = PATCH_SHARE * _nearest(places)
            patches = [patch_of(picture, Circle(float(x), float(y), radius)) for x, y in places]
            if not best or _likeness(_means(patches)) > _likeness(_means(best)):
                best = patches
    return best or [patch_of(picture, Circle(float(middle[0]), float(middle[1]), 0.5))] * (COLUMNS * ROWS)


def _nearest(places: Floats) -> float:
    square = places.reshape(ROWS, COLUMNS, 2)
    along = np.hypot(*np.moveaxis(np.diff(square, axis=1), -1, 0))
    down = np.hypot(*np.moveaxis(np.diff(square, axis=0), -1, 0))
    return float(min(along.min(), down.min()))


def _means(patches: list[Patch]) -> Floats:
    return np.array([patch.mean for patch in patches])


def _likeness(measured: Floats) -> float:
    """How well the 24 go light and dark as the card's do: the correlation of the logarithms, -1 to 1."""
    seen = np.log(np.maximum(measured @ LUMINANCE, 1e-6))
    if seen.std() < 1e-6:
        return 0.0
    return float(np.corrcoef(seen, np.log(card_linear() @ LUMINANCE))[0, 1])


def _widest(points: Floats) -> float:
    """The greatest distance between two of the points."""
    apart = points[:, None, :] - points[None, :, :]
    return float(np.sqrt((apart**2).sum(axis=-1)).max())


def _percent(share: float) -> str:
    return f"{max(1, round(100 * share))} %"
