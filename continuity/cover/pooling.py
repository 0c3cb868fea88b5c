"""The prior that an appliance borrows from the production's other appliances.

An appliance with little history tells little about itself, and its neighbours tell something: they are put on
by the same artists on the same faces. Each appliance has a success rate of its own, drawn from a Beta(a, b)
common to the production (empirical Bayes). The number of copies that lasted among those used is then
beta-binomial, and a and b are those that make the logs of all appliances likeliest together:

    sum over appliances of  log B(a + good, b + used - good) - log B(a, b)

The appliance's own log is one of them; with one prior for all that is the usual way, and it is why a handful
of logs is not enough.

The two numbers are looked for as the mean m = a / (a + b) and the precision n = a + b, in copies. With the
precision fixed the likelihood is concave in the mean (each term is a sum of log(a + j) and log(b + j)), so
the best mean is found by a bracketed Newton step. The precision is looked for on a grid of its logarithm and
then where the slope is nothing, because the likelihood can have its greatest value at either end:

- at infinity: the logs differ no more than chance alone makes them, and there is no spread to learn from;
- at nothing: each log is all good or all spoiled.

At either end, when the likelihood is as good as flat, and when too few appliances have a log, the data cannot
tell, and the production's own prior stands. The reason comes with the answer.

Source of the model: Gelman and others, "Bayesian Data Analysis", section 5.3 (from memory); of the likelihood
at infinite precision: Tarone, Biometrika 66 (1979) 585-590 (from memory).
"""

from __future__ import annotations

import enum
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from continuity.cover.consumption import LEAST_WEIGHT, Beta, Floats, UsageLog

LEAST_APPLIANCES = 3
"""Appliances with two or more copies used below which nothing is pooled: two numbers are fitted, and two logs
would be met exactly whatever they say. A log of one copy says nothing about spread and does not count."""

LEAST_GAIN = 0.01
"""The least by which the log-likelihood must exceed that of no spread at all. Below it the likelihood is
flat: odds of 1.01 to 1 settle nothing.
"""

_LEAST_PRECISION, _MOST_PRECISION = 1e-2, 1e6
_GRID = np.log(np.geomspace(_LEAST_PRECISION, _MOST_PRECISION, 56))
_STEPS = 80


class Pooling(enum.StrEnum):
    """Where a prior comes from, and why."""

    POOLED = "pooled"
    TOO_FEW = "too few"
    NONE_SPOILED = "none spoiled"
    NONE_GOOD = "none good"
    NO_SPREAD = "no spread"
    ALL_OR_NOTHING = "all or nothing"
    FLAT = "flat"


_WORDS = {
    Pooling.POOLED: "learnt from the logs of {count} appliances of this production",
    Pooling.TOO_FEW: (
        "the production's default: to learn one from this production the logs of "
        f"{LEAST_APPLIANCES} appliances with two copies or more are needed, and there are {{count}}"
    ),
    Pooling.NONE_SPOILED: (
        "the production's default: no copy of any appliance has been spoiled or lost yet, so the logs do not "
        "tell how often that will happen"
    ),
    Pooling.NONE_GOOD: (
        "the production's default: no copy of any appliance has gone on well yet, so the logs do not tell "
        "how often one will"
    ),
    Pooling.NO_SPREAD: (
        "the production's default: the {count} appliances with two copies or more in their log differ no "
        "more than luck alone would make them, so the logs do not tell whether some really last "
        "better than others"
    ),
    Pooling.ALL_OR_NOTHING: (
        "the production's default: in each of the {count} logs with two copies or more nearly all lasted or "
        "nearly none did, so the logs do not tell what to expect of an appliance in between"
    ),
    Pooling.FLAT: (
        "the production's default: the {count} appliances with two copies or more in their log differ hardly "
        "more than luck alone would make them, so the logs do not tell how far one really differs from "
        "another"
    ),
}


@dataclass(frozen=True)
class PooledPrior:
    """`prior`: what every appliance of the production starts from, the pooled one or the default.
    `source`: which of the two and why; `explanation` the same in words, to follow "The prior is".
    `appliances`: how many logs of two copies or more there were.
    `gain`: log-likelihood of the prior above that of no spread; None when nothing was fitted.
    """

    prior: Beta
    source: Pooling
    explanation: str
    appliances: int
    gain: float | None


def pooled_prior(logs: Iterable[UsageLog], default: Beta) -> PooledPrior:
    """The prior of a production from its appliances' logs; `default` when they cannot tell."""
    counts = [(log.good, log.used) for log in logs if log.used]
    telling = sum(used >= 2 for _, used in counts)

    def answer(source: Pooling, prior: Beta = default, gain: float | None = None) -> PooledPrior:
        return PooledPrior(prior, source, _WORDS[source].format(count=telling), telling, gain)

    if telling < LEAST_APPLIANCES:
        return answer(Pooling.TOO_FEW)
    likelihood = Likelihood(counts)
    if likelihood.spoiled == 0:
        return answer(Pooling.NONE_SPOILED)
    if likelihood.good == 0:
        return answer(Pooling.NONE_GOOD)

    precisions = np.exp(_GRID)
    means, rests = likelihood.best_means(precisions)
    gains = likelihood.gains(means, rests, precisions)
    best = int(np.argmax(gains))
    if best == gains.size - 1 or gains[best] <= 0:
        return answer(Pooling.NO_SPREAD)
    if best == 0:
        return answer(Pooling.ALL_OR_NOTHING)
    precision = math.exp(_no_slope(likelihood, float(_GRID[best - 1]), float(_GRID[best + 1])))
    mean, rest = likelihood.best_mean(precision)
    gain = float(likelihood.gains(np.array([mean]), np.array([rest]), np.array([precision]))[0])
    if gain < LEAST_GAIN:
        return answer(Pooling.FLAT, gain=gain)
    good, spoiled = mean * precision, rest * precision
    if min(good, spoiled) < LEAST_WEIGHT:
        return answer(Pooling.ALL_OR_NOTHING, gain=gain)
    return answer(Pooling.POOLED, Beta(good, spoiled), gain)


def _no_slope(likelihood: Likelihood, low: float, high: float) -> float:
    """The logarithm of the precision between these two at which the likelihood does not rise any more: by the
    secant, with the slope of an end that stays halved so that the other end moves as well (the Illinois
    method; Dowell and Jarratt, BIT 11 (1971) 168-174, from memory).
    """

    near: tuple[float, float] | None = None

    def slope(at: float) -> float:
        nonlocal near
        precision = math.exp(at)
        near = likelihood.best_mean(precision, near)
        return likelihood.slope(*near, precision)

    at_low, at_high = slope(low), slope(high)
    side, before = 0, math.inf
    for _ in range(_STEPS):
        if high - low <= 1e-13 or not at_low > 0 > at_high:
            break
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        if not low < middle < high:
            break
        here = slope(middle)
        if here > 0:
            at_high = at_high / 2 if side > 0 else at_high
            low, at_low, side = middle, here, 1
        elif here < 0:
            at_low = at_low / 2 if side < 0 else at_low
            high, at_high, side = middle, here, -1
        else:
            return middle
        if abs(middle - before) <= 1e-12:
            return middle
        before = middle
    return (low + high) / 2


class Likelihood:
    """The marginal log-likelihood of (good, used) counts over appliances, as a function of mean and
    precision.

    The rest, 1 less the mean, is passed beside the mean, so that a mean close to 1 keeps its digits. All is
    measured from the likelihood of no spread at all (infinite precision, the mean of all copies together).
    """

    def __init__(self, counts: Iterable[tuple[int, int]]) -> None:
        pairs = np.array(list(counts), dtype=np.int64).reshape(-1, 2)
        good, used = pairs[:, 0], pairs[:, 1]
        spoiled = used - good
        if (good < 0).any() or (spoiled < 0).any():
            raise ValueError("Each count must have 0 <= good <= used.")
        self.good, self.spoiled = int(good.sum()), int(spoiled.sum())
        # log B(a + g, b + f) - log B(a, b) is a sum of log(a + j) for j below g, of log(b + j) for j below f,
        # less one of log(a + b + j) for j below g + f: only how many appliances reach each j matters.
        self._good_past, self._spoiled_past = _reaching(good), _reaching(spoiled)
        self._used_past = _reaching(used)

    def best_mean(self, precision: float, near: tuple[float, float] | None = None) -> tuple[float, float]:
        """The likeliest mean with the precision given, and the rest up to 1: found the sooner the closer it
        is to `near`.
        """
        at = None if near is None else math.log(near[0] / near[1])
        means, rests = self.best_means(np.array([precision]), at)
        return float(means[0]), float(rests[0])

    def best_means(self, precisions: Floats, logit: float | None = None) -> tuple[Floats, Floats]:
        """The same for many precisions at once, looked for from the mean whose logit is given."""
        # The slope falls from plus to minus infinity; the logit keeps both ends apart.
        low, high = np.full(precisions.size, -40.0), np.full(precisions.size, 40.0)
        at = np.full(precisions.size, math.log(self.good / self.spoiled) if logit is None else logit)
        for _ in range(_STEPS):
            mean, rest = _share(at), _share(-at)
            slope, bend = self._slope_of_mean(mean, rest, precisions)
            low = np.where(slope > 0, at, low)
            high = np.where(slope > 0, high, at)
            # In the logit the slope is m (1 - m) L', and its own slope m (1 - m) ((1 - 2 m) L' + m (1 - m)
            # L'').
            inner = (rest - mean) * slope + mean * rest * bend
            following = at - slope / np.where(inner < 0, inner, -np.inf)
            halved = (inner >= 0) | (following <= low) | (following >= high)
            following = np.where(halved, (low + high) / 2, following)
            step, at = np.abs(following - at), following
            # The next step would be about the square of this one.
            if (step <= 1e-9 * np.maximum(1.0, np.abs(at))).all():
                break
        return _share(at), _share(-at)

    def gains(self, means: Floats, rests: Floats, precisions: Floats) -> Floats:
        """The log-likelihood less that of no spread at all, one for each mean with its precision."""
        pooled = self.good / (self.good + self.spoiled)
        total = self.good * np.log(means / pooled) + self.spoiled * np.log(rests / (1 - pooled))
        for past, weights in (
            (self._good_past, means * precisions),
            (self._spoiled_past, rests * precisions),
            (-self._used_past, precisions),
        ):
            total += np.log1p(np.arange(past.size) / weights[:, np.newaxis]) @ past
        return np.asarray(total)

    def slope(self, mean: float, rest: float, precision: float) -> float:
        """The slope of the log-likelihood in the precision, the mean held."""
        total = 0.0
        for past, share in ((self._good_past, mean), (self._spoiled_past, rest), (-self._used_past, 1.0)):
            # x / (x n + j) less 1 / n is -j / (n (x n + j)); the parts 1 / n cancel over the three sums.
            steps = np.arange(past.size, dtype=np.float64)
            total -= float(past @ (steps / (precision * (share * precision + steps))))
        return total

    def _slope_of_mean(self, means: Floats, rests: Floats, precisions: Floats) -> tuple[Floats, Floats]:
        good = 1.0 / ((means * precisions)[:, np.newaxis] + np.arange(self._good_past.size))
        spoiled = 1.0 / ((rests * precisions)[:, np.newaxis] + np.arange(self._spoiled_past.size))
        slope = good @ self._good_past - spoiled @ self._spoiled_past
        bend = good**2 @ self._good_past + spoiled**2 @ self._spoiled_past
        return slope * precisions, -bend * precisions**2


def _reaching(counts: np.ndarray[tuple[int, ...], np.dtype[np.int64]]) -> Floats:
    """How many of the counts are above 0, above 1, and so on."""
    at = np.bincount(counts)
    return np.asarray(at[::-1].cumsum()[::-1][1:], dtype=np.float64)


def _share(logits: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-logits)))
