"""The cover of a plan whose copies are not all alike: shelf dates, copies set aside, runs not yet poured.

First expired, first used; a copy with a date is taken before one without. A copy may be put on up to and on
its shelf date. Expired copies are dropped at the beginning of the next shoot day. The probabilities are exact
(see `walk.py`) but for states of less than `NEGLIGIBLE`: those are counted as short and told (`left_out`),
which is the right side to err on and far below what can be read off a screen. What is left leaves out a
little more.
"""

from __future__ import annotations

import datetime
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence

import numpy as np

from continuity.cover.consumption import ROUNDING, Beta, mean_copies_used, quantiles_of_copies_used
from continuity.cover.plan import MOST_FOLLOWED, Plan
from continuity.cover.walk import MOST_WALKED, Run, Step, Walk

Steps = list[list[Step]]

NEGLIGIBLE = 1e-18
"""A state less likely than that is given up, and counted as short."""

_NEGLIGIBLE_LEFT = 1e-14


def first_short_on_hand(
    belief: Beta, plan: Plan, negligible: float = NEGLIGIBLE, stop_above: float = 1.0
) -> tuple[list[float], float, float]:
    """Probability of having been short by the end of each day, that of never being short, and that which was
    not followed and counts as short. Once the first is above `stop_above` the days after are not looked at:
    they are given as that day, and the second is then too high.
    """
    steps, classes, moulds = steps_of(plan)
    walk = _walk(belief, steps, classes, moulds, plan.most_supplied + 1, negligible, stops=True)
    by_day, short = [], 0.0
    for day in steps:
        for step in day:
            walk.enter(step)
            short += walk.serve(step)
        by_day.append(min(1.0, short + walk.left_out))
        if by_day[-1] > stop_above:
            by_day += by_day[-1:] * (len(steps) - len(by_day))
            return by_day, 1.0 - by_day[-1], walk.left_out
    if not by_day:
        return [], 1.0, 0.0
    # Whichever of the two is the smaller has the more digits.
    last = by_day[-1]
    return by_day, 1.0 - last if last <= 0.5 else min(1.0, float(walk.left()[1].sum())), walk.left_out


def left_on_hand(
    belief: Beta, plan: Plan, levels: Sequence[float]
) -> list[tuple[float | None, int | None, int | None]]:
    """For each day the mean of what is left, and for each of the two `levels` the most copies of which so
    many or more are left with that probability. Copies owed are negative. None where the mean is infinite or
    the quantile out of all reason.
    """
    steps, classes, moulds = steps_of(plan)
    most_used = quantiles_of_copies_used(belief, [plan.needed], (max(levels),))[0][0]
    # Beyond the supply everything is used or expired, and beyond that quantile no level is reached.
    far = MOST_FOLLOWED if most_used is None else most_used - plan.needed
    width = min(plan.most_supplied + far, MOST_WALKED - plan.needed - 1) + 1
    walk = _walk(belief, steps, classes, moulds, width, _NEGLIGIBLE_LEFT, stops=False)
    found: list[tuple[float | None, int | None, int | None]] = []
    supplied, needed = 0.0, 0
    for planned, day in zip(plan.days, steps, strict=True):
        if found and all(_is_idle(step) for step in day):
            found.append(found[-1])
            continue
        for step in day:
            walk.enter(step)
            walk.serve(step)
            supplied += sum(copies for _, copies in step.arrivals)
            supplied += sum(run.poured * moulds[run.mould].mean for run in step.runs)
        needed += planned.copies_needed
        used = mean_copies_used(belief, needed)
        most, chances = walk.left()
        reached = np.cumsum(chances)
        # The table ends `width` copies below the most: what lies deeper is not told apart.
        quantiles = []
        for level in levels:
            below = int((reached < level - ROUNDING).sum())
            quantiles.append(most - below if below < min(reached.size, width) else None)
        found.append((None if used is None else supplied - used - walk.expired, quantiles[0], quantiles[1]))
    return found


def _is_idle(step: Step) -> bool:
    """Whether nothing is wanted and nothing changes on hand."""
    return not (step.wanted or step.freed or step.expired or step.arrivals or step.runs)


def steps_of(plan: Plan) -> tuple[Steps, int, tuple[Beta, ...]]:
    """The steps of each day, how many classes of copies there are, and the yields of the moulds.

    Classes: copies set aside, one for each of the most scenes of a day that have any; then by shelf date,
    those without one (or with one that is not reached) last.
    """
    last = plan.days[-1].date if plan.days else datetime.date.min
    supply: list[tuple[datetime.date | None, datetime.date | None, int]] = [(None, None, plan.on_set)]
    supply += [(None, lot.use_by, lot.copies) for lot in plan.dated]
    supply += [(arrival.date, arrival.use_by, arrival.copies) for arrival in plan.arrivals]
    ends = [use_by for _, use_by, _ in supply]
    ends += [run.use_by for run in plan.runs] + [aside.use_by for aside in plan.set_aside]
    dates = sorted({use_by for use_by in ends if use_by is not None and use_by < last})
    kept = max(Counter(aside.date for aside in plan.set_aside).values(), default=0)
    never = kept + len(dates)

    def class_of(use_by: datetime.date | None) -> int:
        return never if use_by is None or use_by >= last else kept + dates.index(use_by)

    moulds = {run.mould: run.mould_yield for run in plan.runs}
    at_mould = {mould: i for i, mould in enumerate(moulds)}
    by_date = tuple(range(kept, never + 1))
    days = [day.date for day in plan.days]
    come: list[Counter[int]] = [Counter() for _ in days]
    for date, use_by, copies in supply:
        # It is there from the first day on that is not before its date.
        at = 0 if date is None else bisect_left(days, date)
        if at < len(days) and copies and not (use_by and use_by < days[at]):
            come[at][class_of(use_by)] += copies
    due: list[list[Run]] = [[] for _ in days]
    for run in plan.runs:
        at = bisect_left(days, run.date)
        if at < len(days) and not (run.use_by and run.use_by < days[at]):
            due[at].append(Run(class_of(run.use_by), run.poured, at_mould[run.mould]))
    gone: list[list[int]] = [[] for _ in days]
    for i, use_by in enumerate(dates):
        gone[bisect_right(days, use_by)].append(kept + i)
    steps: Steps = []
    freed: tuple[tuple[int, int], ...] = ()
    for at, day in enumerate(plan.days):
        asides = [aside for aside in plan.set_aside if aside.date == day.date]
        today = [
            Step(
                wanted=day.copies_needed - sum(aside.copies_needed for aside in asides),
                order=by_date,
                freed=freed,
                expired=tuple(gone[at]),
                arrivals=tuple(sorted(come[at].items())),
                runs=tuple(due[at]),
            )
        ]
        for i, aside in enumerate(asides):
            usable = 0 if aside.use_by and aside.use_by < day.date else aside.copies
            today.append(Step(aside.copies_needed, (i, *by_date), arrivals=((i, usable),)))
        freed = tuple((i, class_of(aside.use_by)) for i, aside in enumerate(asides))
        steps.append(today)
    return steps, never + 1, tuple(moulds.values())


def _walk(
    belief: Beta,
    steps: Steps,
    classes: int,
    moulds: tuple[Beta, ...],
    width: int,
    negligible: float,
    *,
    stops: bool,
) -> Walk:
    walk = Walk(
        belief=belief,
        classes=classes,
        yields=moulds,
        width=width,
        good_wanted=sum(step.wanted for day in steps for step in day),
        stops=stops,
        negligible=negligible,
    )
    walk.expect(tuple(run for day in steps for step in day for run in step.runs))
    return walk
