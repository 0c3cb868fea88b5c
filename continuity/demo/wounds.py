"""What the demo's wounds look like at each stage of their progression, as marks on the skin of a head."""

from __future__ import annotations

import random
from dataclasses import dataclass

Spot = tuple[float, float]
Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Mark:
    """A line (``width`` above 0) or a filled patch through ``spots``: (longitude in degrees, height).

    ``soft`` (how far its rim fades) and ``width`` are in half heads; ``strength`` is 0 to 1.
    """

    spots: tuple[Spot, ...]
    colour: Colour
    width: float = 0.0
    soft: float = 0.0
    strength: float = 1.0


# Not a wound: the shadow of a beard on jaw, chin and upper lip.
STUBBLE: tuple[Spot, ...] = (
    (-82, 0.2), (-66, 0.52), (-40, 0.62), (-24, 0.5), (0, 0.43), (24, 0.5), (40, 0.62), (66, 0.52), (82, 0.2),
    (76, 0.6), (60, 0.85), (30, 0.98), (0, 1.0), (-30, 0.98), (-60, 0.85), (-76, 0.6),
)  # fmt: skip


def _blot(longitude: float, height: float, across: float, up: float, seed: str) -> tuple[Spot, ...]:
    """A ragged patch about a middle."""
    chance = random.Random(seed)  # noqa: S311 - a drawing, nothing secret
    ring = (
        (1.0, 0.0), (0.9, 0.45), (0.62, 0.8), (0.2, 0.98), (-0.25, 0.95), (-0.65, 0.75), (-0.92, 0.4),
        (-1.0, -0.05), (-0.88, -0.5), (-0.55, -0.85), (-0.1, -1.0), (0.35, -0.93),
        (0.72, -0.7), (0.94, -0.35),
    )  # fmt: skip
    ragged = []
    for x, y in ring:
        stretch = chance.uniform(0.75, 1.15)
        ragged.append((longitude + x * across * stretch, height + y * up * stretch))
    return tuple(ragged)


CUT = ((20.0, -0.36), (25.0, -0.29), (29.0, -0.235), (32.0, -0.17), (38.0, -0.115), (43.0, -0.09))
CUT_OPEN = (
    (20.0, -0.36), (26.0, -0.305), (31.5, -0.245), (35.0, -0.18), (43.0, -0.09),
    (36.0, -0.105), (30.0, -0.155), (26.5, -0.22), (23.0, -0.29),
)  # fmt: skip
RUN = ((34.0, -0.13), (43.0, -0.02), (47.0, 0.12), (46.0, 0.3), (48.0, 0.42))
LID = _blot(31, -0.13, 17, 0.13, "lid")
TEMPLE = _blot(46, -0.08, 12, 0.2, "temple")

CHEEK = _blot(-45, 0.26, 19, 0.27, "cheek")
CHEEK_INNER = _blot(-44, 0.27, 13, 0.19, "inside of the cheek")
BLISTERS = tuple(
    _blot(longitude, height, 3.6, 0.045, f"blister {longitude}")
    for longitude, height in ((-52, 0.12), (-40, 0.2), (-49, 0.3), (-37, 0.36), (-46, 0.42), (-56, 0.24))
)
CRUSTS = tuple(
    _blot(longitude, height, 5.5, 0.055, f"crust {longitude}")
    for longitude, height in ((-54, 0.16), (-42, 0.17), (-47, 0.3), (-37, 0.33), (-45, 0.43), (-57, 0.32))
)

SCRATCHES = (
    ((36.0, 0.1), (42.0, 0.16), (50.0, 0.2)),
    ((34.0, 0.15), (41.0, 0.21), (51.0, 0.26)),
    ((35.0, 0.21), (42.0, 0.26), (49.0, 0.31)),
    ((6.0, 0.78), (12.0, 0.83), (18.0, 0.84)),
    ((5.0, 0.84), (11.0, 0.89), (17.0, 0.9)),
)
GRAZED = (_blot(43, 0.2, 11, 0.13, "cheekbone"), _blot(12, 0.84, 9, 0.08, "chin"))

BROW_SCAR = ((21.0, -0.35), (26.0, -0.28), (29.5, -0.22), (33.0, -0.15), (40.0, -0.1))
CHEEK_SCAR = ((-52.0, 0.08), (-47.0, 0.18), (-46.0, 0.28), (-41.0, 0.36), (-40.0, 0.45))

WOUND_CENTRES: dict[str, Spot] = {
    "cut_brow": (31.0, -0.18),
    "burned_cheek": (-44.0, 0.24),
    "grazes": (34.0, 0.36),
    "scar_brow": (30.0, -0.2),
    "scar_cheek": (-44.0, 0.24),
}

DARK, RED, ROSE, PALE = (70, 8, 12), (150, 20, 24), (205, 106, 98), (238, 206, 190)
VIOLET, MAROON, YELLOW, CRUST = (98, 54, 96), (120, 36, 48), (176, 164, 84), (66, 36, 26)

WOUNDS: dict[tuple[str, str], tuple[Mark, ...]] = {
    ("cut_brow", "fresh"): (
        Mark(LID, ROSE, soft=0.06, strength=0.75),
        Mark(RUN, (132, 12, 16), width=0.034),
        Mark(RUN[1:], (158, 22, 24), width=0.018),
        Mark(CUT_OPEN, RED),
        Mark(CUT, DARK, width=0.03),
    ),
    ("cut_brow", "day_1"): (
        Mark(TEMPLE, VIOLET, soft=0.07, strength=0.7),
        Mark(LID, MAROON, soft=0.06, strength=0.75),
        Mark(CUT_OPEN, MAROON, soft=0.012),
        Mark(CUT, CRUST, width=0.036),
    ),
    ("cut_brow", "day_3"): (
        Mark(TEMPLE, YELLOW, soft=0.08, strength=0.75),
        Mark(LID, VIOLET, soft=0.07, strength=0.6),
        Mark(CUT, ROSE, width=0.06, soft=0.012, strength=0.8),
        Mark(CUT, CRUST, width=0.026),
    ),
    ("scar_brow", "healing"): (
        Mark(LID, YELLOW, soft=0.07, strength=0.35),
        Mark(BROW_SCAR, ROSE, width=0.05, soft=0.012, strength=0.8),
        Mark(BROW_SCAR, (186, 70, 70), width=0.022),
    ),
    ("scar_brow", "scar"): (
        Mark(BROW_SCAR, (206, 140, 124), width=0.045, soft=0.01, strength=0.8),
        Mark(BROW_SCAR, PALE, width=0.024),
    ),
    ("burned_cheek", "fresh"): (
        Mark(CHEEK, (168, 52, 40), soft=0.03, strength=0.95),
        Mark(CHEEK_INNER, (196, 62, 50), soft=0.02),
        *(Mark(blister, (226, 128, 104)) for blister in BLISTERS),
        *(Mark(blister[2:6], (250, 208, 190), width=0.014) for blister in BLISTERS),
        Mark((*CHEEK, CHEEK[0]), (58, 26, 20), width=0.03, soft=0.012, strength=0.9),
    ),
    ("burned_cheek", "day_1"): (
        Mark(CHEEK, (150, 50, 42), soft=0.03, strength=0.95),
        Mark(CHEEK_INNER, (182, 92, 60), soft=0.025),
        *(Mark(blister, (206, 160, 96), soft=0.008) for blister in BLISTERS),
        Mark((*CHEEK, CHEEK[0]), (196, 150, 84), width=0.022, soft=0.01, strength=0.8),
    ),
    ("burned_cheek", "day_3"): (
        Mark(CHEEK, (140, 60, 50), soft=0.035, strength=0.9),
        Mark(CHEEK_INNER, (160, 74, 60), soft=0.02),
        *(Mark(crust, (64, 32, 24), soft=0.006) for crust in CRUSTS),
    ),
    ("scar_cheek", "healing"): (
        Mark(CHEEK, (196, 96, 84), soft=0.06, strength=0.65),
        Mark(CHEEK_SCAR, (206, 104, 94), width=0.06, soft=0.012),
        Mark(CHEEK_SCAR, (226, 142, 128), width=0.02),
    ),
    ("scar_cheek", "scar"): (
        Mark(CHEEK, (178, 120, 96), soft=0.06, strength=0.5),
        Mark(CHEEK_SCAR, (166, 104, 84), width=0.06, soft=0.012),
        Mark(CHEEK_SCAR, (222, 178, 152), width=0.026),
    ),
    ("grazes", "fresh"): (
        *(Mark(patch, (158, 44, 40), soft=0.025, strength=0.8) for patch in GRAZED),
        *(Mark(scratch, (120, 10, 14), width=0.02) for scratch in SCRATCHES),
    ),
    ("grazes", "day_1"): (
        *(Mark(patch, (128, 50, 46), soft=0.03, strength=0.75) for patch in GRAZED),
        *(Mark(scratch, (76, 26, 22), width=0.024) for scratch in SCRATCHES),
    ),
    ("grazes", "healing"): (
        *(Mark(patch, (176, 94, 80), soft=0.04, strength=0.65) for patch in GRAZED),
        *(Mark(scratch, (198, 122, 104), width=0.014, strength=0.9) for scratch in SCRATCHES),
    ),
}
