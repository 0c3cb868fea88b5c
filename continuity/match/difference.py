"""How far two colours are apart (CIEDE2000), and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from continuity.match.light import Floats, lab_of
from continuity.match.patches import Patch

DRAWS = 2000
SEED = 20050101
COVERED = 0.95


@dataclass(frozen=True)
class Drawn:
    """A colour and what else it might have been: CIE L*a*b*, ``lab`` ``(3,)``, ``draws`` ``(DRAWS, 3)``."""

    lab: Floats
    draws: Floats


@dataclass(frozen=True)
class Difference:
    """A CIEDE2000; `COVERED` of what it might have been lies within ``uncertainty`` of it."""

    delta_e: float
    uncertainty: float


def ciede2000(first: Floats, second: Floats) -> Floats:
    """CIEDE2000 between L*a*b* colours, ``(..., 3)``.

    G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
    supplementary test data, and mathematical observations", Color Research & Application 30(1):21-30, 2005,
    in scikit-image.
    """
    from skimage.color import deltaE_ciede2000

    pair = np.broadcast_arrays(first, second)
    return np.asarray(deltaE_ciede2000(*pair), dtype=np.float64)  # type: ignore[no-untyped-call]


def draws_of(
    patches: dict[str, Patch], gains: Floats, gain_deviations: Floats, random: np.random.Generator
) -> dict[str, Drawn]:
    """The balanced colour of each patch of one picture, with `DRAWS` of what it might have been.

    Each draw shifts a patch's mean by its pieces' deviations times independent standard normal numbers, and
    the logarithms of the gains by the card's deviations likewise: the resulting covariances are theirs. One
    draw of the gains holds for all patches of the picture, so that what is wrong with the card falls out
    of the difference between piece and skin as it does in truth.

    Resampling and not first order: near nothing a difference of colour has no slope, and first order would
    call the smallest the surest.
    """
    wavering = np.exp(random.standard_normal((DRAWS, len(gain_deviations))) @ gain_deviations)
    found = {}
    for name in sorted(patches):
        patch = patches[name]
        shifts = random.standard_normal((DRAWS, len(patch.deviations))) @ patch.deviations
        found[name] = Drawn(lab_of(patch.mean * gains), lab_of((patch.mean + shifts) * gains * wavering))
    return found


def mean_of(colours: list[Drawn]) -> Drawn:
    """The mean of several colours of one picture. The list is not empty."""
    return Drawn(
        np.asarray(np.mean([colour.lab for colour in colours], axis=0)),
        np.asarray(np.mean([colour.draws for colour in colours], axis=0)),
    )


def difference_between(first: Drawn, second: Drawn) -> Difference:
    """The CIEDE2000 of two colours, with its uncertainty."""
    found = float(ciede2000(first.lab, second.lab))
    return Difference(found, uncertainty_about(found, ciede2000(first.draws, second.draws)))


def uncertainty_about(value: float, draws: Floats) -> float:
    """The distance from ``value`` within which `COVERED` of the draws lie."""
    return float(np.quantile(np.abs(draws - value), COVERED))


def spread_of(patch: Patch, gains: Floats) -> float:
    """The root mean square CIEDE2000 of a patch's pixels about its colour."""
    pixels = patch.pixels[:: max(1, len(patch.pixels) // 2000)] * gains
    return float(np.sqrt((ciede2000(lab_of(pixels), lab_of(patch.mean * gains)) ** 2).mean()))
