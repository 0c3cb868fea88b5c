"""What dissolves which edge: the edge solvent follows the encapsulator (common practice, no source)."""

from __future__ import annotations

from enum import StrEnum


class Encapsulator(StrEnum):
    """The family of what the copy's edge is made of."""

    ALCOHOL_SOLUBLE = "alcohol_soluble"
    ACETONE_SOLUBLE = "acetone_soluble"
    PRESSED_ACRYLIC = "pressed_acrylic"
    FOAM_LATEX = "foam_latex"
    GELATINE = "gelatine"


class EdgeSolvent(StrEnum):
    """What melts or blends the edge. Foam latex does not dissolve: it is blended."""

    ALCOHOL = "alcohol"
    ACETONE = "acetone"
    BLENDING_PASTE = "blending_paste"
    WARM_WATER = "warm_water"
    WITCH_HAZEL = "witch_hazel"


EDGE_SOLVENTS: dict[Encapsulator, frozenset[EdgeSolvent]] = {
    Encapsulator.ALCOHOL_SOLUBLE: frozenset({EdgeSolvent.ALCOHOL}),
    Encapsulator.ACETONE_SOLUBLE: frozenset({EdgeSolvent.ACETONE}),
    Encapsulator.PRESSED_ACRYLIC: frozenset({EdgeSolvent.ALCOHOL}),
    Encapsulator.FOAM_LATEX: frozenset({EdgeSolvent.BLENDING_PASTE}),
    Encapsulator.GELATINE: frozenset({EdgeSolvent.WARM_WATER, EdgeSolvent.WITCH_HAZEL}),
}

CAST_FROM_GEL = frozenset({Encapsulator.ALCOHOL_SOLUBLE, Encapsulator.ACETONE_SOLUBLE})
"""A copy with one of these around it is cast from a silicone gel of A, B and deadener."""


def edge_solvent_fits(encapsulator: Encapsulator, solvent: EdgeSolvent) -> bool:
    """Whether this solvent moves the edge of a copy with this encapsulator."""
    return solvent in EDGE_SOLVENTS[encapsulator]
