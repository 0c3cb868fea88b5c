"""Slow, exact workings of the cover in fractions, by other roads than the code under test."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction


def outcomes(
    good_weight: int, spoiled_weight: int, supply: list[int], needed: list[int]
) -> Iterator[tuple[Fraction, int | None]]:
    """Every possible run of good and spoiled copies, written out one copy after another until the plan is
    through or short: its probability, and the first short day or None. `supply` is cumulative, `needed` a
    day's own.
    """

    def go(
        day: int, still: int, good: int, spoiled: int, chance: Fraction
    ) -> Iterator[tuple[Fraction, int | None]]:
        while still == 0:
            day += 1
            if day == len(needed):
                yield chance, None
                return
            still = needed[day]
        if good + spoiled == supply[day]:
            yield chance, day
            return
        success = Fraction(good_weight + good, good_weight + spoiled_weight + good + spoiled)
        yield from go(day, still - 1, good + 1, spoiled, chance * success)
        yield from go(day, still, good, spoiled + 1, chance * (1 - success))

    yield from go(-1, 0, 0, 0, Fraction(1))


def rising(start: int, steps: int) -> int:
    """start (start + 1) ... (start + steps - 1)."""
    product = 1
    for step in range(steps):
        product *= start + step
    return product


def binomial(n: int, k: int) -> int:
    return rising(n - k + 1, k) // rising(1, k)


def mass_of_spoiled(good_weight: int, spoiled_weight: int, good_wanted: int, spoiled: int) -> Fraction:
    """The beta-negative-binomial mass, from its definition with rising factorials."""
    return binomial(good_wanted + spoiled - 1, spoiled) * Fraction(
        rising(good_weight, good_wanted) * rising(spoiled_weight, spoiled),
        rising(good_weight + spoiled_weight, good_wanted + spoiled),
    )


def short_by_day(
    good_weight: int, spoiled_weight: int, supply: list[int], needed: list[int]
) -> list[Fraction]:
    """Probability of having been short by each day, day after day over the spoiled copies so far. The chance
    of getting through is kept and taken from 1, which loses nothing in fractions.
    """
    through = {0: Fraction(1)}
    good, short = 0, []
    for there, wanted in zip(supply, needed, strict=True):
        if wanted:
            following: dict[int, Fraction] = {}
            for before, chance in through.items():
                for after in range(before, there - good - wanted + 1):
                    step = mass_of_spoiled(
                        good_weight + good, spoiled_weight + before, wanted, after - before
                    )
                    following[after] = following.get(after, Fraction(0)) + chance * step
            through = following
            good += wanted
        short.append(1 - sum(through.values(), Fraction(0)))
    return short
