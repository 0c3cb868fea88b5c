"""Following what is on hand, copy by copy, when copies are not all alike.

Copies that may be taken for each other are of one class (one shelf date, one grade). What is on hand is a
count for each class; a need takes copies in a stated order of classes. Each copy lasts or does not, with one
success rate that nobody knows: with belief Beta(a, b), any one run of g good and s spoiled copies has the
probability

    w(g, s) = B(a + g, b + s) / B(a, b)

whatever its order (a Pólya urn is exchangeable). So it is enough to count the runs that lead to each state,
and to weigh them at the end. A state is what is on hand and the spoiled copies so far; the good ones are
known from the day. The count is kept as a table:

- A row is a line of states that follow each other as copies are taken. Within a day what is on hand is a
  function of the row and of the copies used, so a row holds the spoiled copies s = 0, 1, ... side by side.
- To wait for one more good copy is to sum along the row: h(s) = f(s) + h(s - 1), which is `numpy.cumsum`.
- When copies expire, arrive out of turn or turn out of a run, the states are written out one by one, changed,
  and gathered into rows again.

Counts are whole numbers, all terms are positive, and nothing is found as a difference, so small chances keep
their digits. The work for n copies is n sums over the table; with all copies of one class the table has one
row, and the work grows with the square of the copies.
"""

from __future__ import annotations

import itertools
import math
import operator
import sys
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from continuity.cover.consumption import Beta, Floats

Ints = NDArray[np.int64]

MOST_CELLS = 600_000
"""Cells a table may have. Beyond it the least likely rows are given up and their probability is told."""

SMALL = 10_000
"""Cells up to which a table has a column for every number of spoiled copies there can be."""

_NO_BOUND = 2**62

# Up to so many different keys each has a place of its own in a table.
_FEW_CODES = 20_000

# Counts reach C(n, n / 2) for n copies: a plain float holds them to about 1,000 copies. Counted in units of
# 1e-300, and weighed by logarithms, to 2,000.
_PLAIN = 950
MOST_WALKED = 1_990
_UNIT = 1e-300


@dataclass(frozen=True)
class Run:
    """`poured` copies of class `into`, each of which is usable or not by the yield of mould `mould` (an index
    into the beliefs of the walk)."""

    into: int
    poured: int
    mould: int


@dataclass(frozen=True)
class Step:
    """One need and what happens on hand just before it, in this order: copies of class `freed[i][0]` become
    of class `freed[i][1]`, copies of the classes `expired` no longer count, `arrivals` (class, copies) and
    `runs` come. Then `wanted` good copies are taken from the classes in `order`.
    """

    wanted: int
    order: tuple[int, ...]
    freed: tuple[tuple[int, int], ...] = ()
    expired: tuple[int, ...] = ()
    arrivals: tuple[tuple[int, int], ...] = ()
    runs: tuple[Run, ...] = ()


@dataclass
class _Cells:
    """States one by one: on hand by class (classes, n), copies owed, good copies out of each mould's runs so
    far (moulds, n), spoiled copies, and the count of runs that lead there. `keys` has two rows to spare and
    then those on hand and those out of runs."""

    keys: Ints
    on_hand: Ints
    passed: Ints
    owed: Ints
    spoiled: Ints
    count: Floats

    def add(self, into: int, copies: Ints | int) -> None:
        """Take in copies; those owed are paid first."""
        paid: Ints = np.minimum(self.owed, copies)
        self.owed = self.owed - paid
        self.on_hand[into] += copies - paid


@dataclass
class Walk:
    """The table of states and the steps it goes through.

    `belief`: of the success rate. `classes`: how many there are. `yields`: beliefs of the moulds' yields.
    `width`: spoiled copies from 0 up to which states are kept. `stops`: whether a state that is short is
    taken out (its probability is what `serve` returns); otherwise copies are owed and the walk goes on.
    `negligible`: a state less likely than that is given up when the states are written out. What has been
    given up adds up in `left_out`, and the copies that have expired unused, on average, in `expired`.
    """

    belief: Beta
    classes: int
    yields: tuple[Beta, ...]
    width: int
    good_wanted: int
    stops: bool
    negligible: float = 0.0
    left_out: float = 0.0
    expired: float = 0.0
    good: int = 0
    _order: tuple[int, ...] = ()
    _runs_left: list[int] = field(default_factory=list)
    _poured: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        # A walk that stops never uses more copies than there are.
        most = self.width if self.stops else self.good_wanted + self.width
        if most > MOST_WALKED:
            raise ValueError(f"A walk takes {MOST_WALKED} copies in all, not {most}.")
        self._logged = most > _PLAIN
        steps = np.arange(self.good_wanted + self.width, dtype=np.float64)
        a, b = self.belief.good, self.belief.spoiled
        self._log_good = _sums(np.log(a + steps))
        self._log_spoiled = _sums(np.log(b + steps))
        self._log_used = _sums(np.log(a + b + steps))
        # The rows. Of the classes in order those after `_first` have the counts in `_counts`; the class at
        # `_first` has what is left of `_total` less the spoiled copies; those before it have nothing. Classes
        # that are not in order have the counts in `_counts`.
        self._first = np.zeros(1, dtype=np.int64)
        self._counts = np.zeros((self.classes, 1), dtype=np.int64)
        self._total = np.zeros(1, dtype=np.int64)
        self._passed = np.zeros((len(self.yields), 1), dtype=np.int64)
        # Column 0 is for `_low` spoiled copies.
        self._low = 0
        self._table = np.full((1, 1), _UNIT if self._logged else 1.0)

    def expect(self, runs: tuple[Run, ...]) -> None:
        """All runs there will be: what a mould's runs passed is remembered only until the last of them."""
        self._runs_left = [sum(run.mould == mould for run in runs) for mould in range(len(self.yields))]
        self._poured = [0] * len(self.yields)

    def enter(self, step: Step) -> None:
        """What happens on hand before the need of `step`."""
        if self._in_turn(step):
            for into, copies in step.arrivals:
                at = step.order.index(into)
                self._counts[into, self._first < at] += copies
                self._total += copies
            return
        cells = self._cells()
        for source, into in step.freed:
            let_go: Ints = cells.on_hand[source].copy()
            cells.on_hand[source] = 0
            cells.add(into, let_go)
        if step.expired:
            gone = cells.on_hand[list(step.expired)].sum(axis=0)
            self.expired += float(self._mass(cells.count, self.good, cells.spoiled) @ gone)
            cells.on_hand[list(step.expired)] = 0
        for into, copies in step.arrivals:
            cells.add(into, copies)
        for run in step.runs:
            cells = self._branch(cells, run)
        self._gather(cells, step.order)

    def serve(self, step: Step) -> float:
        """Wait for the good copies of `step`. The probability of having become short on the way."""
        if not step.wanted:
            return 0.0
        self._make_room(step.wanted)
        short = self._wait(step.wanted) if self._table.size else 0.0
        self._total = self._total - step.wanted
        self.good += step.wanted
        return short

    def _wait(self, wanted: int) -> float:
        """The sums of `serve` in a table that has cells, and what has become short."""
        table, low = self._table, self._low
        rows, width = table.shape
        shift: Ints | int = 0
        spread, most = 0, sys.maxsize
        if self.stops:
            # Where as many are spoiled as were on hand, the next copy is not there. With each row moved so
            # that this falls together, it is one column for all rows, one less for each copy taken.
            most = int(np.maximum.reduce(self._total))
            if rows > 1:
                shift = most - self._total
                spread = int(np.maximum.reduce(shift))
        cells: Ints | None = None
        if spread:
            # Wide enough that no row reaches into the next one, when it is moved or moved back.
            columns = width + 2 * spread
            cells = (np.arange(rows) * columns + shift)[:, np.newaxis] + np.arange(width + spread)
            moved: Floats = np.zeros((rows, columns))
            moved.ravel()[cells[:, :width]] = table
            table = moved
        held = min(width + spread, most - low + 1)
        ends, leaving = np.zeros((wanted, rows)), np.zeros((wanted, rows))
        for taken in range(wanted):
            last = most - taken - low
            if last < 0:
                break
            going = table[:, : last + 1] if last < held else table[:, :held]
            np.add.accumulate(going, axis=1, out=going)
            (ends if last < held else leaving)[taken] = going[:, -1]
        following = np.arange(self.good, self.good + wanted)[:, np.newaxis]
        if most - low >= held and leaving.any():
            # What is spoiled from the outermost column leaves the table.
            outermost = np.maximum(low + held - 1 - np.broadcast_to(shift, rows), 0)
            weight = self.belief.spoiled + outermost
            share = weight / (self.belief.good + following + weight)
            self.left_out += float((self._mass(leaving, following, outermost) * share).sum())
        held = max(0, min(held, most - (wanted - 1) - low))
        table[:, held:] = 0.0
        self._table = table[:, : max(held, 1)] if cells is None else table.ravel()[cells[:, : max(held, 1)]]
        if not self.stops:
            return 0.0
        spoiled = np.maximum(self._total + self.good - following, 0)
        return float(np.add.reduce(self._mass(ends, following, spoiled), axis=None))

    def left(self) -> tuple[int, Floats]:
        """What is left over all classes: the most, and the probability of the most, one fewer, and so on.
        What has gone beyond the width of the table is not in it.
        """
        if not self._table.size:
            return 0, np.zeros(1)
        outside = [c for c in range(self.classes) if c not in self._order]
        top = self._total + self._counts[outside].sum(axis=0)
        most = int(top.max())
        columns = np.arange(self._table.shape[1], dtype=np.int64) + self._low
        mass = self._mass(self._table, self.good, columns)
        below = (most - top)[:, np.newaxis] + columns
        return most, np.asarray(np.bincount(below.ravel(), weights=mass.ravel()), dtype=np.float64)

    def _in_turn(self, step: Step) -> bool:
        """Whether all that happens is that copies arrive which are taken after everything on hand."""
        if step.order != self._order or step.expired or step.runs or step.freed:
            return False
        if len(step.arrivals) > 1:
            return False
        for into, _ in step.arrivals:
            if into not in step.order:
                return False
            at = step.order.index(into)
            if (self._first > at).any() or self._counts[list(step.order[at + 1 :])].any():
                return False
        return True

    def _make_room(self, wanted: int) -> None:
        """Columns for the copies that may be spoiled before so many good ones. In a large table there are
        none for what is negligible.
        """
        table, low = self._table, self._low
        if not table.size:
            return
        most = self.width - 1
        if self.stops:
            # No more can have been spoiled than there was on hand.
            most = min(most, max(low, int(self._total.max())))
        if table.shape[0] * (most - low + 1) <= SMALL:
            self._table = np.zeros((table.shape[0], most - low + 1))
            held = min(table.shape[1], most - low + 1)
            self._table[:, :held] = table[:, :held]
            return
        columns = np.arange(table.shape[1], dtype=np.int64) + low
        mass = self._mass(table.sum(axis=0), self.good, columns)
        kept = np.flatnonzero(mass > self.negligible)
        if not kept.size:
            kept = np.array([int(mass.argmax())])
        begin, end = int(kept[0]), int(kept[-1]) + 1
        self.left_out += float(mass[:begin].sum() + mass[end:].sum())
        most_spoiled = low + end - 1
        rate = self.belief.spoiled + most_spoiled
        rate /= self.belief.good + self.good + rate
        more, chance = 0, 1.0
        while most_spoiled + more < most and chance > self.negligible:
            chance *= rate * (wanted + more) / (more + 1)
            more += 1
        self._low = low + begin
        self._table = np.zeros((table.shape[0], end - begin + more))
        self._table[:, : end - begin] = table[:, begin:end]

    def _mass(self, count: Floats, good: int | Ints, spoiled: Ints) -> Floats:
        weight = self._log_good[good] + self._log_spoiled[spoiled] - self._log_used[good + spoiled]
        if not self._logged:
            return np.asarray(count * np.exp(weight))
        with np.errstate(divide="ignore"):
            return np.asarray(np.exp(np.log(count) + (weight - math.log(_UNIT))))

    def _cells(self) -> _Cells:
        row, column = np.nonzero(self._table)
        count, spoiled = self._table[row, column], column + self._low
        if self.negligible:
            mass = self._mass(count, self.good, spoiled)
            kept = mass >= self.negligible
            if not kept.all():
                self.left_out += float(mass[~kept].sum())
                row, count, spoiled = row[kept], count[kept], spoiled[kept]
        classes = self.classes
        keys: Ints = np.empty((2 + classes + len(self.yields), row.size), dtype=np.int64)
        on_hand, passed = keys[2 : 2 + classes], keys[2 + classes :]
        np.take(self._counts, row, axis=1, out=on_hand, mode="clip")
        if len(self.yields):
            np.take(self._passed, row, axis=1, out=passed, mode="clip")
        here = self._total[row] - spoiled
        order = list(self._order)
        if order:
            # What the classes after one do not hold is left for it, up to what there was of it.
            tail = self._counts[order]
            after: Ints = tail[::-1].cumsum(axis=0)[::-1] - tail
            tail[self._first, np.arange(self._first.size)] = _NO_BOUND
            has = here - np.take(after, row, axis=1)
            on_hand[order] = np.minimum(np.maximum(has, 0), np.take(tail, row, axis=1))
        return _Cells(
            keys=keys,
            on_hand=on_hand,
            passed=passed,
            owed=np.maximum(-here, 0),
            spoiled=spoiled,
            count=count,
        )

    def _branch(self, cells: _Cells, run: Run) -> _Cells:
        """Every number of usable copies a run may have, by the beta-binomial given what passed before."""
        before = cells.passed[run.mould]
        belief, poured = self.yields[run.mould], self._poured[run.mould]
        outcomes = np.arange(run.poured + 1)
        chances = np.zeros((poured + 1, run.poured + 1))
        for passed in np.unique(before).tolist():
            now = Beta(belief.good + passed, belief.spoiled + poured - passed)
            chances[passed] = usable_of(now, run.poured)
        size, ways = before.size, outcomes.size
        come = np.tile(outcomes, size)
        keys: Ints = np.repeat(cells.keys, ways, axis=1)
        following = _Cells(
            keys=keys,
            on_hand=keys[2 : 2 + self.classes],
            passed=keys[2 + self.classes :],
            owed=np.repeat(cells.owed, ways),
            spoiled=np.repeat(cells.spoiled, ways),
            count=(cells.count[:, np.newaxis] * chances[before]).ravel(),
        )
        following.add(run.into, come)
        self._poured[run.mould] += run.poured
        self._runs_left[run.mould] -= 1
        if self._runs_left[run.mould]:
            following.passed[run.mould] += come
        else:
            following.passed[run.mould] = 0
        return following

    def _gather(self, cells: _Cells, order: tuple[int, ...]) -> None:
        """States into rows: those that differ only in how many of the first class not empty are used up."""
        self._order = order
        in_order = cells.on_hand[list(order)]
        here = np.add.reduce(in_order, axis=0) - cells.owed
        first = np.where(here > 0, np.argmax(in_order > 0, axis=0), 0)
        cells.on_hand[np.asarray(order)[first], np.arange(first.size)] = 0
        cells.keys[0], cells.keys[1] = first, here + cells.spoiled
        rows, row = _distinct(cells.keys)
        self._low = int(cells.spoiled.min(initial=self.width))
        width = max(0, int(cells.spoiled.max(initial=0)) - self._low) + 1
        cell = row * width + cells.spoiled - self._low
        counted = np.bincount(cell, weights=cells.count, minlength=rows.shape[1] * width)
        table: Floats = np.asarray(counted, dtype=np.float64).reshape(rows.shape[1], width)
        if table.size > MOST_CELLS:
            rows, table = self._give_up(rows, table)
        self._first, self._total = rows[0], rows[1]
        self._counts = rows[2 : 2 + self.classes]
        self._passed = rows[2 + self.classes :]
        self._table = table

    def _give_up(self, rows: Ints, table: Floats) -> tuple[Ints, Floats]:
        columns = np.arange(table.shape[1], dtype=np.int64) + self._low
        mass = self._mass(table, self.good, columns).sum(axis=1)
        likeliest = np.argsort(mass)[::-1]
        room = max(1, MOST_CELLS // table.shape[1])
        self.left_out += float(mass[likeliest[room:]].sum())
        kept = np.sort(likeliest[:room])
        return rows[:, kept], table[kept]


def usable_of(belief: Beta, poured: int) -> Floats:
    """Probability of 0, 1, ..., `poured` usable copies of so many: beta-binomial. Shape (poured + 1,)."""
    steps = np.arange(poured, dtype=np.float64)
    passed = _sums(np.log((belief.good + steps) / (steps + 1.0)))
    rejected = _sums(np.log((belief.spoiled + steps) / (steps + 1.0)))
    whole = _sums(np.log((belief.good + belief.spoiled + steps) / (steps + 1.0)))
    return np.asarray(np.exp(passed + rejected[::-1] - whole[-1]))


def _sums(values: Floats) -> Floats:
    return np.concatenate([np.zeros(1), np.cumsum(values)])


def _distinct(keys: Ints) -> tuple[Ints, Ints]:
    """The distinct columns of `keys`, and for each column of `keys` which of them it is."""
    if not keys.shape[1]:
        return keys, np.zeros(0, dtype=np.int64)
    low = np.minimum.reduce(keys, axis=1)
    spans = (np.maximum.reduce(keys, axis=1) - low + 1).tolist()
    codes = math.prod(spans)
    if codes >= 2**62:
        columns, column = np.unique(keys, axis=1, return_inverse=True)
        return columns, column.reshape(-1)
    # The digits of a number in which each key has as many as it has values.
    weights = [*itertools.accumulate(reversed(spans[1:]), operator.mul, initial=1)][::-1]
    code = np.asarray(weights) @ (keys - low[:, np.newaxis])
    if codes > _FEW_CODES:
        _, at, column = np.unique(code, return_index=True, return_inverse=True)
        return keys[:, at], column.reshape(-1)
    # The same without sorting: a place for every code there can be.
    last = np.full(codes, -1, dtype=np.int64)
    last[code] = np.arange(code.size)
    found = last >= 0
    return keys[:, last[found]], (np.cumsum(found) - 1)[code]
