"""How much solvent vapour there is in a room, by the well-mixed room model, beside the published limits.

While a solvent evaporates at an even rate G (mg/min) into a room of V (m³) with Q (m³/min) of fresh air, the
concentration is C(t) = (G/Q)(1 − e^(−Qt/V)), and falls by e^(−Qt/V) afterwards. The model is that of the
table "Concentration of pollution" (Engineering ToolBox, 2005), against which it is tested. It supposes that
the air is mixed through and through; beside a spray gun there is many times as much. So it is a screening
figure: it can say that there is too much, and never that the air is safe.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

MOLAR_VOLUME = 24.45
"""Litres of one mole of a gas at 25 °C and 1 atm: the convention behind ppm and mg/m³ of published limits."""

WORKDAY_MINUTES = 480.0
SHORT_TERM_MINUTES = 15.0
PERCENT_IN_PPM = 10_000.0


class Solvent(StrEnum):
    ISOPROPYL_ALCOHOL = "isopropyl_alcohol"
    ACETONE = "acetone"
    ETHYL_ACETATE = "ethyl_acetate"
    N_HEPTANE = "n_heptane"


class Averaged(StrEnum):
    """Over what a limit is taken: a shift, a quarter of an hour, or any moment."""

    SHIFT = "shift"
    QUARTER_HOUR = "quarter_hour"
    MOMENT = "moment"


@dataclass(frozen=True)
class Limit:
    """A published limit, as published: ``milligrams`` (per m³) is not worked out from ``ppm``."""

    name: str
    averaged: Averaged
    ppm: float
    milligrams: float | None
    source: str


@dataclass(frozen=True)
class Data:
    """``molar_mass`` in g/mol, ``density`` in g/ml, ``lower_explosive_percent`` by volume."""

    name: str
    molar_mass: float
    density: float
    lower_explosive_percent: float
    limits: tuple[Limit, ...]


_GUIDE = "NIOSH Pocket Guide to Chemical Hazards"
_TABLE = "29 CFR 1910.1000, Table Z-1 (OSHA)"
_IDLH = "NIOSH, immediately dangerous to life or health"


def _limits(
    shift: tuple[float, float], law: tuple[float, float], idlh: float, *more: Limit
) -> tuple[Limit, ...]:
    return (
        Limit("recommended, over a workday", Averaged.SHIFT, *shift, _GUIDE),
        Limit("permitted, over 8 hours", Averaged.SHIFT, *law, _TABLE),
        *more,
        Limit("immediately dangerous to life or health", Averaged.MOMENT, idlh, None, _IDLH),
    )


DATA: Mapping[Solvent, Data] = {
    Solvent.ISOPROPYL_ALCOHOL: Data(
        "99 % alcohol (isopropyl alcohol)", 60.1, 0.79, 2.0,
        _limits(
            (400, 980), (400, 980), 2000,
            Limit("recommended, over 15 minutes", Averaged.QUARTER_HOUR, 500, 1225, _GUIDE),
        ),
    ),
    Solvent.ACETONE: Data("acetone", 58.1, 0.79, 2.5, _limits((250, 590), (1000, 2400), 2500)),
    Solvent.ETHYL_ACETATE: Data("ethyl acetate", 88.1, 0.90, 2.0, _limits((400, 1400), (400, 1400), 2000)),
    Solvent.N_HEPTANE: Data(
        "n-heptane", 100.2, 0.68, 1.05,
        _limits(
            (85, 350), (500, 2000), 750,
            Limit("ceiling, over 15 minutes", Averaged.QUARTER_HOUR, 440, 1800, _GUIDE),
        ),
    ),
}  # fmt: skip
"""Limits and flammable ranges as the NIOSH Pocket Guide and Table Z-1 print them, and as they were read. From
memory of the same pages: molar masses and densities of acetone and n-heptane, the density of ethyl acetate.
"""


def ppm_of_milligrams(milligrams: float, molar_mass: float) -> float:
    """Parts per million by volume of so many mg/m³, at 25 °C and 1 atm."""
    return milligrams * MOLAR_VOLUME / molar_mass


@dataclass(frozen=True)
class Room:
    """``cubic_metres`` above 0; ``air_changes`` an hour, 0 for a closed one."""

    cubic_metres: float
    air_changes: float

    @property
    def changes_a_minute(self) -> float:
        return self.air_changes / 60


@dataclass(frozen=True)
class Release:
    """So many milligrams that evaporate at an even rate over so many ``minutes`` (both above 0)."""

    milligrams: float
    minutes: float


def concentration(release: Release, room: Room, at_minute: float) -> float:
    """mg/m³ so many minutes (0 or more) after the release began."""
    rate, decay = _rate(release, room), room.changes_a_minute
    rising = min(at_minute, release.minutes)
    falling = at_minute - rising
    if _is_closed(decay, at_minute):
        return rate * rising
    return rate * -math.expm1(-decay * rising) / decay * math.exp(-decay * falling)


def exposure(release: Release, room: Room, until_minute: float) -> float:
    """mg/m³ times minutes that somebody has breathed who was there from the beginning."""
    rate, decay = _rate(release, room), room.changes_a_minute
    rising = min(until_minute, release.minutes)
    falling = until_minute - rising
    if _is_closed(decay, until_minute):
        return rate * rising * (rising / 2 + falling)
    still_there = concentration(release, room, rising)
    while_rising = rate * (rising + math.expm1(-decay * rising) / decay) / decay
    return while_rising + still_there * -math.expm1(-decay * falling) / decay


def highest_average(release: Release, room: Room, over_minutes: float) -> float:
    """mg/m³ averaged over the worst so many minutes.

    That window begins where the concentration is what it is again at the window's end.
    """
    earliest = max(0.0, release.minutes - over_minutes)
    decay = room.changes_a_minute
    start = release.minutes
    if not _is_closed(decay, release.minutes + over_minutes):
        apart = release.minutes - over_minutes
        peak_share = -math.expm1(-decay * release.minutes)
        start = apart + math.log(peak_share + math.exp(-decay * apart)) / decay
    start = min(max(start, earliest), release.minutes)
    breathed = exposure(release, room, start + over_minutes) - exposure(release, room, start)
    return breathed / over_minutes


def _rate(release: Release, room: Room) -> float:
    """mg/m³ added each minute."""
    return release.milligrams / release.minutes / room.cubic_metres


def _is_closed(decay: float, minutes: float) -> bool:
    """So little fresh air that dividing by it would lose more than it tells."""
    return decay * minutes < 1e-6


@dataclass(frozen=True)
class Against:
    """A limit and what the room has of it: ``ppm`` averaged as the limit is; ``share`` 1 is the limit."""

    limit: Limit
    ppm: float
    share: float


@dataclass(frozen=True)
class Screening:
    """The most there is at any moment, what share of the lower explosive limit that is, and each limit."""

    solvent: Solvent
    peak_ppm: float
    peak_milligrams: float
    explosive_share: float
    against: tuple[Against, ...]

    @property
    def over(self) -> tuple[Against, ...]:
        """The limits that are reached."""
        return tuple(found for found in self.against if found.share >= 1)


def screen(solvent: Solvent, millilitres: float, minutes: float, room: Room) -> Screening:
    """So many millilitres of a solvent evaporate over so many minutes (both above 0); nobody leaves the room
    until the workday of 8 hours is over, and nothing more evaporates that day.
    """
    data = DATA[solvent]
    release = Release(millilitres * data.density * 1000, minutes)
    peak = concentration(release, room, minutes)
    averages = {
        Averaged.SHIFT: exposure(release, room, max(WORKDAY_MINUTES, minutes)) / WORKDAY_MINUTES,
        Averaged.QUARTER_HOUR: highest_average(release, room, SHORT_TERM_MINUTES),
        Averaged.MOMENT: peak,
    }
    against = []
    for limit in data.limits:
        ppm = ppm_of_milligrams(averages[limit.averaged], data.molar_mass)
        against.append(Against(limit, ppm, ppm / limit.ppm))
    peak_ppm = ppm_of_milligrams(peak, data.molar_mass)
    explosive = data.lower_explosive_percent * PERCENT_IN_PPM
    return Screening(solvent, peak_ppm, peak, peak_ppm / explosive, tuple(against))
