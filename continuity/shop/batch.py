"""The grams and millilitres of a batch, as a scale and a measuring cup can show them.

Everything is decimal, so that what is printed adds up: each part is rounded to the scale's step, and a total
is the sum of the parts as they are printed. A mix for several copies is so many times the mix for one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

NOTHING = Decimal(0)
A_HUNDRED = Decimal(100)


def decimal_of(number: float) -> Decimal:
    """The number as it was written: 0.1 is a tenth, not the nearest binary fraction."""
    return Decimal(repr(number))


def to_step(amount: Decimal, step: Decimal) -> Decimal:
    """``amount`` rounded to a multiple of ``step`` (above 0), a half upwards."""
    return (amount / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def up_to_step(amount: Decimal, step: Decimal) -> Decimal:
    """``amount`` rounded up to a multiple of ``step`` (above 0)."""
    return (amount / step).quantize(Decimal(1), rounding=ROUND_CEILING) * step


@dataclass(frozen=True)
class Gel:
    """Grams of each part of a gel. ``deadener`` is 0 for a gel without."""

    a: Decimal
    b: Decimal
    deadener: Decimal

    @property
    def total(self) -> Decimal:
        return self.a + self.b + self.deadener

    def times(self, number: int) -> Gel:
        """So many times as much."""
        return Gel(self.a * number, self.b * number, self.deadener * number)


def sum_of(gels: Iterable[Gel]) -> Gel:
    """All of them together."""
    gels = list(gels)
    return Gel(
        sum((gel.a for gel in gels), NOTHING),
        sum((gel.b for gel in gels), NOTHING),
        sum((gel.deadener for gel in gels), NOTHING),
    )


@dataclass(frozen=True)
class Ratio:
    """Parts by weight, each above 0 but ``deadener``, which may be 0."""

    a: Decimal
    b: Decimal
    deadener: Decimal

    @property
    def total(self) -> Decimal:
        return self.a + self.b + self.deadener

    @property
    def deadener_to_one(self) -> Decimal:
        """Deadener to one part of A and B, taken together as two: 7.5 with 8 and 8 is 0.9375."""
        return self.deadener * 2 / (self.a + self.b)


def gel_of_one_pour(copy_grams: Decimal, waste_percent: Decimal, ratio: Ratio, step: Decimal) -> Gel:
    """What is weighed for one copy of ``copy_grams``, with ``waste_percent`` on top for cups and sticks.

    Parts that are alike in the ratio are alike on the scale: 1 : 1 stays 1 : 1.
    """
    whole = copy_grams * (1 + waste_percent / A_HUNDRED)
    return Gel(*(to_step(whole * part / ratio.total, step) for part in (ratio.a, ratio.b, ratio.deadener)))


@dataclass(frozen=True)
class OffRatio:
    """A ``part`` ("b" or "deadener") of which something else was weighed than A asks for, in grams, and how
    much more or less that is, in percent of what A asks for."""

    part: str
    weighed: Decimal
    wanted: Decimal
    percent: Decimal


def off_ratio(weighed: Gel, ratio: Ratio, tolerance_percent: Decimal) -> tuple[OffRatio, ...]:
    """The parts further off than the tolerance. None are, where A weighs nothing to compare with."""
    found = []
    for part, grams, parts in (
        ("b", weighed.b, ratio.b),
        ("deadener", weighed.deadener, ratio.deadener),
    ):
        wanted = weighed.a * parts / ratio.a
        if wanted > 0:
            percent = abs(grams - wanted) / wanted * A_HUNDRED
            if percent > tolerance_percent:
                found.append(OffRatio(part, grams, wanted, percent))
    return tuple(found)


@dataclass(frozen=True)
class Mix:
    """One cup, stirred at once: the ``number``-th of a ``cycle`` of the mould, for ``pours`` cavities."""

    cycle: int
    number: int
    pours: int
    gel: Gel


def cycles_of(pours: int, cavities: int) -> list[int]:
    """Pours of each cycle of a mould with so many cavities (1 or more): full ones first."""
    full, rest = divmod(pours, cavities)
    return [cavities] * full + ([rest] if rest else [])


def mixes_of(pours: int, cavities: int, pours_a_mix: int, of_one: Gel) -> tuple[Mix, ...]:
    """The cups of a batch, even within a cycle, none for more than ``pours_a_mix`` (1 or more)."""
    mixes: list[Mix] = []
    for cycle, in_cycle in enumerate(cycles_of(pours, cavities), start=1):
        cups = -(-in_cycle // pours_a_mix)
        small, larger = divmod(in_cycle, cups)
        for number in range(1, cups + 1):
            in_cup = small + (1 if number <= larger else 0)
            mixes.append(Mix(cycle, number, in_cup, of_one.times(in_cup)))
    return tuple(mixes)


@dataclass(frozen=True)
class Coats:
    """Encapsulator for so many coats, in millilitres of cap plastic and of what thins it."""

    coats: int
    cap_plastic: Decimal
    thinner: Decimal

    @property
    def total(self) -> Decimal:
        return self.cap_plastic + self.thinner


def encapsulator(
    area_square_centimetres: Decimal,
    coats: int,
    millilitres_per_100_square_centimetres: Decimal,
    cap_plastic_parts: Decimal,
    thinner_parts: Decimal,
    step: Decimal,
) -> Coats:
    """What covers an area so many times. Parts are by volume, ``cap_plastic_parts`` above 0.

    The cap plastic is rounded up to ``step`` and thinned by the ratio: there is enough, and the ratio holds.
    """
    whole = area_square_centimetres * coats * millilitres_per_100_square_centimetres / A_HUNDRED
    cap_plastic = up_to_step(whole * cap_plastic_parts / (cap_plastic_parts + thinner_parts), step)
    return Coats(coats, cap_plastic, to_step(cap_plastic * thinner_parts / cap_plastic_parts, step))


def colour_for(amount: Decimal, per_grams: Decimal, grams: Decimal, step: Decimal) -> Decimal:
    """A colour of which ``amount`` goes into ``per_grams`` (above 0), for so many grams."""
    return to_step(amount * grams / per_grams, step)
