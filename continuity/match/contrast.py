"""Whether the piece sits in the skin beside it as it did."""

from __future__ import annotations

from dataclasses import dataclass

from continuity.match.difference import Drawn, ciede2000, uncertainty_about


@dataclass(frozen=True)
class Contrast:
    """The CIEDE2000 between piece and skin, ``then`` and ``now``.

    ``shift`` is the CIEDE2000 between the piece now and the colour it would have to have to stand off from
    the skin now as it did from the skin then (the same difference in L*, a* and b*). It sees what the change
    of one number does not: a piece that was too red and is too green by as much. ``uncertainty`` is that of
    ``shift``. Constructed here, no source.
    """

    then: float
    now: float
    shift: float
    uncertainty: float

    @property
    def change(self) -> float:
        return self.now - self.then


def contrast_between(piece_then: Drawn, skin_then: Drawn, piece_now: Drawn, skin_now: Drawn) -> Contrast:
    """What errors of white and exposure the two photos have falls out of it for the most part: each is in
    piece and skin alike."""
    shift = float(ciede2000(skin_now.lab + piece_then.lab - skin_then.lab, piece_now.lab))
    draws = ciede2000(skin_now.draws + piece_then.draws - skin_then.draws, piece_now.draws)
    return Contrast(
        then=float(ciede2000(piece_then.lab, skin_then.lab)),
        now=float(ciede2000(piece_now.lab, skin_now.lab)),
        shift=shift,
        uncertainty=uncertainty_about(shift, draws),
    )
