"""The success rate: how many copies an appliance will use up, given a prior and what the log says so far.

A planned application wants a good copy; now and then a copy is spoiled on the way (the edge folds, the copy
tears) and the artist takes the next one. So the copies used until `k` are good are `k` plus the spoiled ones.
With a known success rate the spoiled ones are negative-binomial. The rate is not known: it has a Beta belief,
updated by the log, and the spoiled ones are then beta-negative-binomial (Johnson, Kemp and Kotz, "Univariate
Discrete Distributions", chapter 6; from memory).

Counts here are copies, not applications: a look that takes two copies of one appliance wants two good ones.
"Copies used" always includes the good ones. Libraries that count failures (spoiled copies) give a number that
is smaller by `k`.

A copy can also go on well and be lost during the day: pulled off, torn in a stunt, sweated loose. The artist
then takes another, and that one may be spoiled or lost in its turn. So for the count of copies there are only
two kinds: a copy lasts its planned application, or it does not (spoiled on the way, or lost on set), and the
next one is taken. That is the same calculation with "good" read as "lasted", so nothing above changes and no
approximation is made. It is also what follows from two rates learnt apart. Let the chance that a copy goes on
be Beta(a + good + lost, b + spoiled) and the chance that one that is on is lost be Beta(lost, a + good),
independent of it: then the three kinds together have a Dirichlet belief (a + good, b + spoiled, lost), and
the chance of "lasts" is Beta(a + good, b + spoiled + lost), the belief used here (Johnson, Kotz and
Balakrishnan, "Continuous Multivariate Distributions", chapter 49; from memory). The prior holds nothing
about losses: until one is logged none is expected. `estimate.py` shows the two rates apart.

The default prior, Beta(9, 1), is for a production with no history. It says nine of ten copies go on well, and
it weighs as much as ten logged copies: after two weeks of shooting the log outweighs it, while one torn copy
on the first day does not empty the forecast. Its first number is above 1, so the mean number of copies used
exists from the start. Common practice, no source: an application is spoiled now and then. A production sets
its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_SPOILED = 200_000
"""Spoiled copies up to which a quantile is looked for. Above it there is nothing left to plan with."""

ROUNDING = 1e-12
"""How far below a level a cumulative probability may lie and still count as having reached it. A level
reached exactly (nine copies at 90 % under a flat prior) must not be missed by the last digit of a float."""

LEAST_WEIGHT = 1e-9
"""Smallest weight a belief may have: less changes no answer, and a good deal less underflows to 0."""

# A quantile is looked for among so many counts of spoiled copies, then among more.
_WIDTHS = (64, 256, 1024, 4096, 16_384, 65_536, MOST_SPOILED + 1)
_MOST_CELLS = 2_000_000


@dataclass(frozen=True)
class Beta:
    """A belief about the success rate of one copy: Beta(good, spoiled), both LEAST_WEIGHT or more, in copies.

    `good` and `spoiled` weigh like that many logged copies of each kind.
    """

    good: float
    spoiled: float

    def __post_init__(self) -> None:
        for name, weight in (("good", self.good), ("spoiled", self.spoiled)):
            if not (math.isfinite(weight) and weight >= LEAST_WEIGHT):
                raise ValueError(f"{name} must be a number above 0 ({LEAST_WEIGHT} or more), not {weight!r}.")

    @property
    def mean(self) -> float:
        """The expected success rate of the next copy, between 0 and 1."""
        return self.good / (self.good + self.spoiled)


@dataclass(frozen=True)
class UsageLog:
    """Copies of one appliance used so far, each counted once: `good` went on and lasted the planned
    application, `spoiled` never went on, `lost` went on well and was lost during the day, so that another
    application followed. All 0 or more.
    """

    good: int
    spoiled: int
    lost: int = 0

    def __post_init__(self) -> None:
        for name, count in (("good", self.good), ("spoiled", self.spoiled), ("lost", self.lost)):
            if count < 0:
                raise ValueError(f"{name} must be 0 or more, not {count!r}.")

    @property
    def used(self) -> int:
        """Copies used in all."""
        return self.good + self.spoiled + self.lost


DEFAULT_PRIOR = Beta(good=9.0, spoiled=1.0)
"""The belief before anything is logged; the reasons are in the text at the head of this module."""


def posterior(prior: Beta, log: UsageLog) -> Beta:
    """The belief after the log: each good copy adds one to the first number, each spoiled or lost one to the
    second.
    """
    return Beta(good=prior.good + log.good, spoiled=prior.spoiled + log.spoiled + log.lost)


def mean_copies_used(belief: Beta, good_wanted: int) -> float | None:
    """Expected copies used until `good_wanted` are good: k + k b / (a - 1) with the belief Beta(a, b).

    None when a is 1 or less, because the mean is then infinite (a success rate close to 0 is too likely);
    show a quantile instead. 0 when none are wanted.
    """
    _check_wanted(good_wanted)
    if good_wanted == 0:
        return 0.0
    if belief.good <= 1:
        return None
    return good_wanted + good_wanted * belief.spoiled / (belief.good - 1)


def mass_of_spoiled(belief: Beta, good_wanted: int, up_to: int) -> Floats:
    """Probability of exactly 0, 1, ..., `up_to` spoiled copies before the `good_wanted`-th good one.

    With the belief Beta(a, b) and k wanted, P(x) = C(k + x - 1, x) B(a + k, b + x) / B(a, b). Shape (up_to +
    1,).
    """
    _check_wanted(good_wanted)
    if up_to < 0:
        raise ValueError(f"up_to must be 0 or more, not {up_to!r}.")
    if good_wanted == 0:
        return np.concatenate([np.ones(1), np.zeros(up_to)])
    wanted = np.array([good_wanted], dtype=np.float64)
    start = np.array([_log_none_spoiled(belief, good_wanted)[-1]])
    return np.asarray(np.exp(_log_mass(belief, wanted, start, up_to + 1)[0]))


def cumulative_of_spoiled(belief: Beta, good_wanted: int, up_to: int) -> Floats:
    """Probability of at most 0, 1, ..., `up_to` spoiled copies before the `good_wanted`-th good one."""
    return np.minimum(np.cumsum(mass_of_spoiled(belief, good_wanted, up_to)), 1.0)


def quantile_of_copies_used(belief: Beta, good_wanted: int, level: float) -> int | None:
    """The smallest number of copies used whose cumulative probability reaches `level` (between 0 and 1).

    None when that would take more than MOST_SPOILED spoiled copies.
    """
    return quantiles_of_copies_used(belief, [good_wanted], [level])[0][0]


def quantiles_of_copies_used(
    belief: Beta, good_wanted: Sequence[int], levels: Sequence[float]
) -> list[tuple[int | None, ...]]:
    """`quantile_of_copies_used` for many counts at once: one tuple for each of `good_wanted`, in the order of
    `levels`.
    """
    for wanted in good_wanted:
        _check_wanted(wanted)
    for level in levels:
        if not 0 < level < 1:
            raise ValueError(f"A level must lie between 0 and 1, not {level!r}.")
    found: dict[int, list[int | None]] = {int(wanted): [None] * len(levels) for wanted in good_wanted}
    if 0 in found:
        found[0] = [0] * len(levels)
    waiting = np.array(sorted(wanted for wanted in found if wanted > 0), dtype=np.int64)
    if waiting.size:
        none_spoiled = _log_none_spoiled(belief, int(waiting[-1]))
        for width in _WIDTHS:
            unfinished: list[int] = []
            rows = max(1, _MOST_CELLS // width)
            for begin in range(0, waiting.size, rows):
                block = waiting[begin : begin + rows]
                log_mass = _log_mass(belief, block.astype(np.float64), none_spoiled[block - 1], width)
                cumulative = np.cumsum(np.exp(log_mass), axis=1)
                out_of_reach = np.zeros(block.size, dtype=bool)
                for column, level in enumerate(levels):
                    spoiled = (cumulative < level - ROUNDING).sum(axis=1)
                    out_of_reach |= spoiled == width
                    for wanted, count in zip(block.tolist(), spoiled.tolist(), strict=True):
                        if count < width:
                            found[wanted][column] = wanted + count
                unfinished.extend(block[out_of_reach].tolist())
            if not unfinished:
                break
            waiting = np.array(unfinished, dtype=np.int64)
    return [tuple(found[int(wanted)]) for wanted in good_wanted]


def _check_wanted(good_wanted: int) -> None:
    if good_wanted < 0:
        raise ValueError(f"good_wanted must be 0 or more, not {good_wanted!r}.")


def _log_none_spoiled(belief: Beta, most: int) -> Floats:
    """log P(no copy spoiled) for 1, 2, ..., `most` good ones wanted: log B(a + k, b) - log B(a, b).

    Summed as log((a + i) / (a + b + i)): a difference of two log-gammas would lose digits when they are
    large.
    """
    good = belief.good + np.arange(most, dtype=np.float64)
    return np.cumsum(np.log(good / (good + belief.spoiled)))


def _log_mass(belief: Beta, wanted: Floats, none_spoiled: Floats, width: int) -> Floats:
    """log of the mass at 0 .. width - 1 spoiled copies, a row for each of `wanted` (all above 0).

    Neighbouring masses have the ratio P(x + 1) / P(x) = (k + x)(b + x) / ((x + 1)(a + b + k + x)).
    """
    spoiled = np.arange(width - 1, dtype=np.float64)
    wanted = wanted[:, np.newaxis]
    ratio = (wanted + spoiled) / (spoiled + 1.0)
    ratio *= (belief.spoiled + spoiled) / (belief.good + belief.spoiled + wanted + spoiled)
    log_mass = np.empty((wanted.shape[0], width))
    log_mass[:, 0] = none_spoiled
    np.cumsum(np.log(ratio), axis=1, out=log_mass[:, 1:])
    log_mass[:, 1:] += none_spoiled[:, np.newaxis]
    return log_mass
