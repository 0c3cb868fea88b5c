"""What the demo's shop casts with and what is left of it, as plain tables. Everything here is invented,
save the mix of 8 : 8 : 7.5, which is common practice without a source."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from continuity.demo.dates import Calendar
from continuity.demo.entries import EntryBook, Json, mint
from continuity.stock.documents import (
    Cavity,
    CavityResult,
    ColouredPart,
    ColourUnit,
    Fault,
    IntrinsicColour,
    LotUsed,
    MaterialUnit,
    MaterialUse,
    Pour,
    Timer,
)

SPRAY_ROOM_CUBIC_METRES = 38.0
AIR_CHANGES_PER_HOUR = 10.0

_FLESH = IntrinsicColour(
    colour="Flesh tone", amount=1.5, unit=ColourUnit.GRAMS, per_grams=100, into=ColouredPart.ALL
)
_SILICONE: Json = {
    "parts_a": 8,
    "parts_b": 8,
    "deadener_parts": 7.5,
    "coats_in_mould": 4,
    "coats_on_back": 4,
    "coat_millilitres_per_100_square_centimetres": 4,
}
RECIPES: dict[str, Json] = {
    "cut_brow": {
        **_SILICONE,
        "copy_grams": 11.5,
        "area_square_centimetres": 46,
        "intrinsic_colour": [
            _FLESH,
            IntrinsicColour(
                colour="Blue", amount=2, unit=ColourUnit.DROPS, per_grams=100, into=ColouredPart.A
            ),
            IntrinsicColour(
                colour="Red flock", amount=1, unit=ColourUnit.PINCHES, per_grams=60, into=ColouredPart.ALL
            ),
        ],
    },
    "cut_brow_double": {
        **_SILICONE,
        "deadener_parts": 6,
        "copy_grams": 13,
        "area_square_centimetres": 46,
        "intrinsic_colour": [_FLESH],
    },
}
"""What is cast from the gel, by appliance."""

GEL = "gel_a"


@dataclass(frozen=True)
class Lot:
    """A lot that only the shop uses. ``expires`` and ``opened`` are days from today."""

    key: str
    name: str
    use: MaterialUse
    lot: str
    amount: float
    unit: MaterialUnit
    low_below: float
    expires: int
    opened: int | None = None
    more: Json = field(default_factory=dict)


_TIMES = {"pot_life_minutes": 6, "pot_life_celsius": 23, "cure_minutes": 75}
LOTS = (
    Lot(GEL, "Silicone gel, A", MaterialUse.GEL_A, "G-5121", 1000, MaterialUnit.GRAMS, 150, 190, -24, _TIMES),
    Lot("gel_b", "Silicone gel, B", MaterialUse.GEL_B, "G-5122", 1000, MaterialUnit.GRAMS, 150, 190, -24,
        _TIMES),
    Lot("deadener", "Deadener", MaterialUse.DEADENER, "D-330", 110, MaterialUnit.GRAMS, 150, 320, -24),
    Lot("cap_plastic", "Cap plastic, alcohol-soluble", MaterialUse.CAP_PLASTIC, "CP-77", 500,
        MaterialUnit.MILLILITRES, 60, 150, -40, {"coat_dry_minutes": 8}),
    Lot("release", "Release wax", MaterialUse.RELEASE, "W-9", 2, MaterialUnit.PIECES, 1, 900, -60),
    Lot("flesh", "Intrinsic flesh tone", MaterialUse.PIGMENT, "F-12", 60, MaterialUnit.GRAMS, 10, 700, -30),
)  # fmt: skip

COUNTED: dict[str, Json] = {
    "silicone_adhesive": {"amount": 60, "low_below": 25, "amount_per_application": 2},
    "acrylic_adhesive": {"amount": 120, "low_below": 20, "amount_per_application": 1.5},
    "alcohol": {"amount": 1000, "low_below": 200, "amount_per_application": 12},
    "silicone_remover": {"amount": 400, "low_below": 80, "amount_per_application": 15},
    "oil_remover": {"amount": 400, "low_below": 80, "amount_per_application": 15},
    "sealer": {"amount": 160, "low_below": 30, "amount_per_application": 4},
    "sealer_old": {"amount": 40, "amount_per_application": 4},
}
"""How much there was of the lots that applications take from, in millilitres."""

WEIGHED: dict[str, tuple[tuple[int, float], ...]] = {
    "alcohol": ((-6, 961), (-4, 904), (-3, 889), (-2, 826)),
    "silicone_adhesive": ((-6, 53.2), (-4, 47.8), (-2, 38.6)),
}
"""What was left of them at the end of working days, as the scale said."""


@dataclass(frozen=True)
class Weighed:
    """A run as the bench wrote it down: the mixes in grams, and what came out of each cavity, in order. A
    serial is a good copy."""

    celsius: float
    mixes: tuple[tuple[float, float, float], ...]
    out: tuple[str | Fault, ...]


RUNS: dict[str, Weighed] = {
    # The deadener of its second mix was 8 % too much, and one copy stayed tacky.
    "brow_mould -9": Weighed(
        22.5, ((8.6, 8.6, 8.1), (8.6, 8.6, 8.7)), ("CB-22", "CB-23", Fault.TACKY, "CB-24")
    ),
    "double_mould -5": Weighed(
        24.0, ((10.4, 10.4, 7.8), (10.4, 10.4, 7.8)), ("CD-19", Fault.BUBBLE, "CD-20", "CD-21")
    ),
}
"""By the key of the cast run."""


def write_weighings(book: EntryBook, calendar: Calendar) -> None:
    """The bottles on the scale, at the end of some days."""
    for material, found in WEIGHED.items():
        for day, left in found:
            evening = calendar.moment(day, "20:50")
            weighing = {"left": left, "weighed_on": calendar.date(day).isoformat()}
            patch = {"weighings": {str(mint(evening, f"{material} weighed")): weighing}}
            book.edit("material", material, "artist", evening, patch)


def counted(material: str) -> Json:
    """What is known of the amount of a material that applications use."""
    amounts = COUNTED.get(material)
    return {**amounts, "unit": MaterialUnit.MILLILITRES} if amounts else {}


def recipe(appliance: str, gel: Any) -> Json:
    """What an appliance is cast from; nothing for those that are not of silicone gel."""
    found = RECIPES.get(appliance)
    return {**found, "gel": gel} if found else {}


def weighed(book: EntryBook, calendar: Calendar, key: str, cast: int) -> Json:
    """What the bench wrote of a run while it was cast; nothing for one of which it kept no notes."""
    run = RUNS.get(key)
    if run is None:
        return {}
    start = calendar.moment(cast, "09:10")
    poured = [start + datetime.timedelta(minutes=50 + 10 * number) for number in range(len(run.mixes))]
    pours = {
        str(mint(at, f"{key} mix")): Pour(a_grams=a, b_grams=b, deadener_grams=deadener, poured_at=at)
        for at, (a, b, deadener) in zip(poured, run.mixes, strict=True)
    }
    lots = {
        str(mint(start, f"{key} {lot}")): LotUsed(material=book.id("material", lot))
        for lot in (GEL, "gel_b", "deadener", "cap_plastic")
    }
    cure = Timer(
        what="Cure", minutes=80, started_at=poured[-1], stopped_at=poured[-1] + datetime.timedelta(minutes=85)
    )
    return {
        "started_at": start.isoformat(),
        "temperature_celsius": run.celsius,
        "pours": {item: pour.model_dump(mode="json") for item, pour in pours.items()},
        "lots": {item: lot.model_dump(mode="json", exclude_none=True) for item, lot in lots.items()},
        "timers": {str(mint(poured[-1], f"{key} cure")): cure.model_dump(mode="json")},
    }


def write_cavities(book: EntryBook, calendar: Calendar, due: dict[str, int]) -> None:
    """What came out of each cavity, once the copies have their serials."""
    for key, run in RUNS.items():
        at = calendar.moment(due[key], "16:20")
        cavities = {}
        for number, came_out in enumerate(run.out, start=1):
            if isinstance(came_out, Fault):
                cavity = Cavity(cavity=number, result=CavityResult.REJECTED, why=came_out)
            else:
                copy = book.id("copy", came_out)
                cavity = Cavity(cavity=number, result=CavityResult.GOOD, copy_cast=copy)
            item = str(mint(at, f"{key} cavity {number}"))
            cavities[item] = cavity.model_dump(mode="json", exclude_none=True)
        book.edit("cast_run", key, "shop", at, {"cavities": cavities})
