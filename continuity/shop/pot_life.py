"""Pot life: how long a gel can be worked, at another temperature than the one its maker measured at."""

from __future__ import annotations

import math
from dataclasses import dataclass

Q10 = 2.0
"""How many times faster a gel cures 10 °C warmer. The rule of thumb for the rate of a chemical reaction near
room temperature; common practice, no source. It is no figure of any maker.
"""

FURTHEST_KELVIN = 10.0
"""How far from the maker's temperature the rule is trusted: one doubling. Chosen here, no source."""


@dataclass(frozen=True)
class Known:
    """What the maker says: so many minutes, at so many degrees Celsius."""

    minutes: float
    celsius: float


class TooFar(Exception):
    """The room is too far from the temperature that the maker measured at."""


def at_temperature(known: Known, celsius: float) -> float:
    """Minutes at ``celsius``: the maker's, halved for every 10 °C warmer and doubled for every 10 °C colder.

    Raises `TooFar` beyond 10 °C either way.
    """
    warmer = celsius - known.celsius
    if abs(warmer) > FURTHEST_KELVIN:
        raise TooFar(
            f"The maker's figure is for {known.celsius:g} °C and the room has {celsius:g} °C: "
            f"more than {FURTHEST_KELVIN:g} °C apart, nothing is worked out. Try a spoonful first."
        )
    return float(known.minutes / Q10 ** (warmer / 10))


def said_minutes(minutes: float) -> float:
    """Minutes as they are said and set on a timer: in tenths, and never more than there are."""
    return math.floor(minutes * 10 + 1e-6) / 10


def pours_in_one_mix(minutes: float, stirring_seconds: float, seconds_a_cavity: float) -> int:
    """Cavities that are filled before a mix sets, counted from when A meets B; 0 when not even one is.

    ``seconds_a_cavity`` is above 0.
    """
    left = minutes * 60 - stirring_seconds
    return max(0, int(left // seconds_a_cavity))
