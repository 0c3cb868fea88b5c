"""What the log says of one appliance, in numbers that can be shown: how many copies last, how many are
spoiled, how many are lost on set, and what each rests on.

The formulation, and why the two rates may be taken apart, is at the head of `consumption.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

from continuity.cover.consumption import (
    Beta,
    UsageLog,
    cumulative_of_spoiled,
    posterior,
    quantile_of_copies_used,
)


@dataclass(frozen=True)
class Estimate:
    """The rates of one appliance, each a mean of the belief between 0 and 1.

    `belief`: of the chance that a copy lasts its planned application; the cover is worked out from it.
    `success_rate`: its mean. It equals (1 - `spoiled_rate`) x (1 - `lost_rate`).
    `spoiled_rate`: the chance that a copy is spoiled on the way, per copy taken.
    `lost_rate`: the chance that one that went on well is lost during the day, per application: unplanned
    re-applications.
    `rests_on`: the log in words, "34 good, 3 spoiled and 2 lost on set".
    """

    prior: Beta
    log: UsageLog
    belief: Beta
    success_rate: float
    spoiled_rate: float
    lost_rate: float
    rests_on: str


def estimate(prior: Beta, log: UsageLog) -> Estimate:
    """The rates of one appliance from its prior (`pooling.pooled_prior`, or the production's) and its log."""
    belief = posterior(prior, log)
    weight = belief.good + belief.spoiled
    return Estimate(
        prior=prior,
        log=log,
        belief=belief,
        success_rate=belief.mean,
        spoiled_rate=(prior.spoiled + log.spoiled) / weight,
        lost_rate=log.lost / (belief.good + log.lost),
        rests_on=in_words(log),
    )


def in_words(log: UsageLog) -> str:
    """The log as one phrase, such as "34 good, 3 spoiled and 2 lost on set"."""
    if log.used == 0:
        return "nothing logged yet"
    return f"{log.good} good, {log.spoiled} spoiled and {log.lost} lost on set"


def extra_copies(prior: Beta, log: UsageLog, good_wanted: int) -> tuple[float, float] | None:
    """Expected copies spoiled and expected copies lost on set until `good_wanted` copies have lasted.

    With the Dirichlet belief (a, b, c) they are k b / (a - 1) and k c / (a - 1); with k they add up to
    `consumption.mean_copies_used`. None where that mean is infinite (a is 1 or less).
    """
    if good_wanted < 0:
        raise ValueError(f"good_wanted must be 0 or more, not {good_wanted!r}.")
    if good_wanted == 0:
        return 0.0, 0.0
    lasting = prior.good + log.good
    if lasting <= 1:
        return None
    each = good_wanted / (lasting - 1)
    return each * (prior.spoiled + log.spoiled), each * log.lost


MOST_CHANCES = 40
"""Spares for which a chance is worked out one by one, to be read by a person."""


@dataclass(frozen=True)
class ExtraCopies:
    """What copies that do not last ask for on top of `needed`, the copies planned.

    `spoiled`, `lost`: how many of them on average; None where there is no mean. `for_target`: the fewest that
    are enough with the probability wanted, so many that the chance reaches the critical ratio (the
    newsvendor, see `reorder.py`); None where that is out of all reason. `chances`: the probability that 0, 1,
    2, ... are enough, up to that number or MOST_CHANCES.
    """

    needed: int
    spoiled: float | None
    lost: float | None
    for_target: int | None
    chances: tuple[float, ...]


def extra_copies_for(found: Estimate, needed: int, target: float) -> ExtraCopies:
    """The spares that so many planned copies ask for, as if all were to be had on one day."""
    mean = extra_copies(found.prior, found.log, needed)
    spoiled, lost = (None, None) if mean is None else mean
    used = quantile_of_copies_used(found.belief, needed, target)
    for_target = None if used is None else used - needed
    shown = MOST_CHANCES if for_target is None else min(for_target, MOST_CHANCES)
    chances = cumulative_of_spoiled(found.belief, needed, shown)
    return ExtraCopies(needed, spoiled, lost, for_target, tuple(chances.tolist()))
