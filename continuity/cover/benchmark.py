"""How long the cover of one appliance takes, how that grows, and whether simulated seasons agree with it.

Nothing here is run by the tests but for small numbers.
"""

from __future__ import annotations

import datetime
import functools
import math
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from continuity.cover.calculation import chance_of_being_short, supply_by_day, work_out_cover
from continuity.cover.consumption import DEFAULT_PRIOR, Floats, UsageLog, posterior
from continuity.cover.plan import Arrival, DatedCopies, Plan, PlannedDay
from continuity.cover.reorder import work_out_reorder
from continuity.cover.shop import Mould, Shop

FIRST_DAY = datetime.date(2026, 3, 2)


def example_plan(days: int, copies: int) -> Plan:
    """A plan of `days` shoot days (1 or more) that supplies `copies` in all: half on set, the rest in weekly
    arrivals. One or two copies are needed a day, as many as leave a tenth of the supply over. A case made up
    here.
    """
    on_set = copies - copies // 2
    weeks = max(1, days // 7)
    rest = copies - on_set
    arrivals = tuple(
        Arrival(FIRST_DAY + datetime.timedelta(weeks=week), rest * (week + 1) // weeks - rest * week // weeks)
        for week in range(weeks)
    )
    wanted = copies * 9 // 10
    planned = tuple(
        PlannedDay(
            FIRST_DAY + datetime.timedelta(days=day), wanted * (day + 1) // days - wanted * day // days
        )
        for day in range(days)
    )
    return Plan(
        target=0.98,
        prior=DEFAULT_PRIOR,
        log=UsageLog(good=40, spoiled=3),
        on_set=on_set,
        arrivals=arrivals,
        days=planned,
    )


def with_shelf_dates(plan: Plan) -> Plan:
    """The same with a shelf date on every copy on set, in four lots, the first of which runs out in the
    middle of the plan."""
    lots = 4
    length = len(plan.days)
    dated = tuple(
        DatedCopies(
            plan.on_set * (lot + 1) // lots - plan.on_set * lot // lots,
            FIRST_DAY + datetime.timedelta(days=length * (lot + 3) // 6),
        )
        for lot in range(lots)
    )
    return replace(plan, on_set=0, dated=dated)


def median_time(work: Callable[[], object], repeats: int) -> float:
    """Seconds that `work` takes, the median of `repeats` after one run that is not counted."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def time_of_cover(days: int = 60, copies: int = 120, repeats: int = 15) -> float:
    """Seconds the cover of one appliance takes, the median of `repeats` after one run that is not counted."""
    plan = example_plan(days, copies)
    return median_time(lambda: work_out_cover(plan), repeats)


@dataclass(frozen=True)
class Times:
    """Seconds, for one appliance of a season.

    `cover`: all of `work_out_cover`. `chances`: the probabilities alone. `plain`: the same probabilities by
    `plain_chances`. `dated`: `work_out_cover` with shelf dates on half of the copies. `reorder`: the order
    and the last day to start, for a plan that is short.
    """

    cover: float
    chances: float
    plain: float
    dated: float
    reorder: float

    @property
    def ratio_to_plain(self) -> float:
        """The time of the probabilities as a multiple of the plain evaluation."""
        return self.chances / self.plain


def times_of_season(days: int = 120, copies: int = 200, repeats: int = 15) -> Times:
    """What one appliance takes, each the median of `repeats`."""
    plan = example_plan(days, copies)
    dated = with_shelf_dates(plan)
    short = replace(plan, on_set=plan.on_set // 2)
    shop = Shop(Mould(4, 2, good=40, poured=50), FIRST_DAY, transport_days=1, weekdays_off=frozenset({5, 6}))
    return Times(
        cover=median_time(lambda: work_out_cover(plan), repeats),
        chances=median_time(lambda: chance_of_being_short(plan), repeats),
        plain=median_time(lambda: plain_chances(plan), repeats),
        dated=median_time(lambda: work_out_cover(dated), repeats),
        reorder=median_time(lambda: work_out_reorder(short, shop), max(1, repeats // 3)),
    )


def plain_chances(plan: Plan) -> Floats:
    """`p_short_by` of each day of a plan whose copies are all alike, by the recursion written straight down
    in NumPy: one step for each copy, over all counts of good ones. Shape (days,).
    """
    belief = posterior(plan.prior, plan.log)
    supply = np.array(supply_by_day(plan))
    each = np.array([day.copies_needed for day in plan.days])
    day_of = np.repeat(np.arange(each.size), each)
    limit = supply[day_of]
    good = np.arange(day_of.size)
    alive = np.zeros(day_of.size)
    alive[:1] = 1.0
    short = np.zeros(each.size)
    for used in range(int(supply[-1]) + 1):
        at_limit = limit == used
        np.add.at(short, day_of[at_limit], alive[at_limit])
        alive = np.where(at_limit, 0.0, alive)
        success = (belief.good + good) / (belief.good + belief.spoiled + used)
        following = alive * (1.0 - success)
        following[1:] += (alive * success)[:-1]
        alive = following
    return np.cumsum(short)


@dataclass(frozen=True)
class Growth:
    """Seconds of `work_out_cover` by length: `copies` and `seconds` go with `days`."""

    days: tuple[int, ...]
    copies: tuple[int, ...]
    seconds: tuple[float, ...]

    @property
    def power(self) -> float:
        """The power of the copies by which the time grows from the shortest to the longest; 2 is square."""
        copies = math.log(self.copies[-1] / self.copies[0])
        return math.log(self.seconds[-1] / self.seconds[0]) / copies


def growth(
    days: Sequence[int] = (30, 60, 120, 240, 480), repeats: int = 9, *, shelf_dates: bool = False
) -> Growth:
    """How the time grows with the season, five copies to three days; with shelf dates on half of the copies
    if asked for."""
    copies = tuple(length * 5 // 3 for length in days)
    plans = [example_plan(length, count) for length, count in zip(days, copies, strict=True)]
    if shelf_dates:
        plans = [with_shelf_dates(plan) for plan in plans]
    seconds = tuple(median_time(functools.partial(work_out_cover, plan), repeats) for plan in plans)
    return Growth(tuple(days), copies, seconds)


@dataclass(frozen=True)
class Simulation:
    """Seasons drawn at random beside the exact cover.

    `p_covered`, `simulated`: exact and drawn. `standard_error`: of the drawn one. `errors`: how many standard
    errors they lie apart. `most_errors`: the same for the `p_short_by` of the day where it is greatest, of
    the days with 100 short seasons or more.
    """

    seasons: int
    p_covered: float
    simulated: float
    standard_error: float
    errors: float
    most_errors: float


def simulate(
    plan: Plan, seasons: int = 10_000_000, seed: int = 20_260_302, chunk: int = 250_000
) -> Simulation:
    """`seasons` (1 or more) seasons of a plan, drawn `chunk` at a time.

    In each a success rate is drawn from the belief, then for each day the copies used until enough are good;
    they are taken from the lot that expires first. Runs and copies set aside are not drawn: the plan must
    have none.
    """
    if plan.runs or plan.set_aside:
        raise ValueError("A plan with runs or copies set aside is not simulated.")
    random = np.random.default_rng(seed)
    short = np.zeros(len(plan.days), dtype=np.int64)
    for begin in range(0, seasons, chunk):
        short += _short_seasons(plan, min(chunk, seasons - begin), random)
    exact, p_covered = chance_of_being_short(plan)
    expected, drawn = np.array(exact), np.cumsum(short)
    errors = np.abs(drawn / seasons - expected) / np.sqrt(expected * (1 - expected) / seasons + 1e-300)
    simulated = 1 - float(drawn[-1]) / seasons
    standard_error = math.sqrt(p_covered * (1 - p_covered) / seasons)
    return Simulation(
        seasons=seasons,
        p_covered=p_covered,
        simulated=simulated,
        standard_error=standard_error,
        errors=abs(simulated - p_covered) / standard_error,
        most_errors=float(errors[(drawn >= 100) & (drawn <= seasons - 100)].max(initial=0.0)),
    )


def _short_seasons(plan: Plan, seasons: int, random: np.random.Generator) -> NDArray[np.int64]:
    """How many seasons were short for the first time on each day."""
    belief = posterior(plan.prior, plan.log)
    rate = random.beta(belief.good, belief.spoiled, seasons)
    never = datetime.date.max
    lots = [(datetime.date.min, never, plan.on_set)]
    lots += [(datetime.date.min, lot.use_by, lot.copies) for lot in plan.dated]
    lots += [(each.date, each.use_by or never, each.copies) for each in plan.arrivals]
    # One heap for each shelf date, the first to expire first.
    heaps = {use_by: np.zeros(seasons, dtype=np.int32) for use_by in sorted({lot[1] for lot in lots})}
    short, before = [], datetime.date.min
    for i, day in enumerate(plan.days):
        for date, use_by, copies in lots:
            if date <= day.date and (i == 0 or date > before):
                heaps[use_by] += copies
        before = day.date
        need = np.full(rate.size, day.copies_needed, dtype=np.int32)
        if day.copies_needed:
            need += random.negative_binomial(day.copies_needed, rate).astype(np.int32)
        for use_by, heap in heaps.items():
            if use_by >= day.date:
                taken = np.minimum(heap, need)
                heap -= taken
                need -= taken
        going = need == 0
        short.append(int(rate.size - going.sum()))
        if short[-1]:
            rate = rate[going]
            heaps = {use_by: heap[going] for use_by, heap in heaps.items()}
    return np.array(short, dtype=np.int64)
