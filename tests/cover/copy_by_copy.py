"""Slow, exact workings of plans whose copies are not all alike, in fractions: every copy is an object that is
picked from a heap by the rule in words, and every outcome is written out. Nothing of the code under test is
used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tests.cover import exact

NEVER = 10**6
"""A day after all days: the shelf date of copies without one."""


@dataclass(frozen=True)
class Lot:
    """`copies` there from day `come` on, until day `use_by`; of a grade (higher is better); `scene` when set
    aside for the need of that number."""

    copies: int
    come: int = -1
    use_by: int = NEVER
    grade: int = 0
    scene: int | None = None


@dataclass(frozen=True)
class Uncertain:
    """`poured` copies there from day `come` on, each usable with one probability that is Beta(a, b)."""

    poured: int
    come: int
    a: int
    b: int
    use_by: int = NEVER


@dataclass(frozen=True)
class Need:
    """`copies` good ones on day `day`, of that grade or a higher one, perhaps for a scene."""

    day: int
    copies: int
    grade: int = 0
    scene: int | None = None


def supplies(lots: Sequence[Lot], runs: Sequence[Uncertain]) -> Iterator[tuple[Fraction, list[Lot]]]:
    """Every way the runs can turn out, copy by copy. All runs come from one mould."""

    def go(i: int, passed: int, failed: int) -> Iterator[tuple[Fraction, list[Lot]]]:
        if i == len(runs):
            yield Fraction(1), []
            return
        run = runs[i]
        for good in range(run.poured + 1):
            chance = exact.binomial(run.poured, good) * Fraction(
                exact.rising(run.a + passed, good) * exact.rising(run.b + failed, run.poured - good),
                exact.rising(run.a + run.b + passed + failed, run.poured),
            )
            for rest_chance, rest in go(i + 1, passed + good, failed + run.poured - good):
                yield chance * rest_chance, [Lot(good, run.come, run.use_by), *rest]

    for chance, come in go(0, 0, 0):
        yield chance, [*lots, *come]


def first_short(a: int, b: int, lots: Sequence[Lot], needs: Sequence[Need]) -> dict[int | None, Fraction]:
    """Probability that each need (by its place in `needs`, which is the order of serving) is the first to go
    without, and None for none."""
    found: dict[int | None, Fraction] = {}
    scene_over = {need.scene: need.day for need in needs if need.scene is not None}

    def pick(need: Need, left: list[int]) -> int | None:
        fit = []
        for i, lot in enumerate(lots):
            if not left[i] or not lot.come <= need.day <= lot.use_by or lot.grade < need.grade:
                continue
            kept = lot.scene is not None and need.day <= scene_over[lot.scene]
            if kept and lot.scene != need.scene:
                continue
            fit.append((not kept, lot.grade, lot.use_by, i))
        return min(fit)[-1] if fit else None

    def go(at: int, still: int, left: list[int], good: int, spoiled: int, chance: Fraction) -> None:
        while still == 0:
            at += 1
            if at == len(needs):
                found[None] = found.get(None, Fraction(0)) + chance
                return
            still = needs[at].copies
        taken = pick(needs[at], left)
        if taken is None:
            found[at] = found.get(at, Fraction(0)) + chance
            return
        after = left.copy()
        after[taken] -= 1
        success = Fraction(a + good, a + b + good + spoiled)
        go(at, still - 1, after, good + 1, spoiled, chance * success)
        go(at, still, after, good, spoiled + 1, chance * (1 - success))

    go(-1, 0, [lot.copies for lot in lots], 0, 0, Fraction(1))
    return found


def left_after(
    a: int, b: int, lots: Sequence[Lot], needed: Sequence[int], most_spoiled: int
) -> list[tuple[dict[int, Fraction], Fraction]]:
    """For each day the probability of each number left, as far as no day spoils more than `most_spoiled`; and
    the mean number that has expired unused by then. Copies owed are taken from the next that come. When
    `most_spoiled` is the whole supply the mean is exact: beyond it nothing is left to expire."""
    days = len(needed)
    found: list[tuple[dict[int, Fraction], Fraction]] = [({}, Fraction(0)) for _ in range(days)]

    def go(
        day: int, left: list[int], owed: int, gone: int, good: int, spoiled: int, chance: Fraction
    ) -> None:
        if day == days:
            return
        left = left.copy()
        for i, lot in enumerate(lots):
            if lot.use_by < day and lot.come <= lot.use_by:
                if any(lot.come <= shoot <= lot.use_by for shoot in range(days)):
                    gone += left[i]
                left[i] = 0
        here = sorted((lot.use_by, i) for i, lot in enumerate(lots) if lot.come <= day <= lot.use_by)
        rest = Fraction(1)
        for more in range(most_spoiled + 1):
            if needed[day]:
                step = exact.mass_of_spoiled(a + good, b + spoiled, needed[day], more)
            else:
                step = Fraction(not more)
            rest -= step
            after, use = left.copy(), owed + needed[day] + more
            for _, i in here:
                taken = min(use, after[i])
                after[i] -= taken
                use -= taken
            masses, expired = found[day]
            number = sum(after[i] for _, i in here) - use
            masses[number] = masses.get(number, Fraction(0)) + chance * step
            found[day] = masses, expired + chance * step * gone
            go(day + 1, after, use, gone, good + needed[day], spoiled + more, chance * step)
        for later in range(day, days):
            # Everything has been used; nothing more can expire.
            found[later] = found[later][0], found[later][1] + chance * rest * gone

    go(0, [lot.copies for lot in lots], 0, 0, 0, 0, Fraction(1))
    return found
