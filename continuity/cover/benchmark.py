"""How long the cover of one appliance takes."""

from __future__ import annotations

import datetime
import statistics
import time

from continuity.cover.calculation import Arrival, Plan, PlannedDay, work_out_cover
from continuity.cover.consumption import DEFAULT_PRIOR, UsageLog


def example_plan(days: int, copies: int) -> Plan:
    """A plan of `days` shoot days (1 or more) that supplies `copies` in all: half on set, the rest in weekly
    arrivals. One or two copies are needed a day, as many as leave a tenth of the supply over. A case made up
    here.
    """
    first = datetime.date(2026, 3, 2)
    on_set = copies - copies // 2
    weeks = max(1, days // 7)
    rest = copies - on_set
    arrivals = tuple(
        Arrival(first + datetime.timedelta(weeks=week), rest * (week + 1) // weeks - rest * week // weeks)
        for week in range(weeks)
    )
    wanted = copies * 9 // 10
    planned = tuple(
        PlannedDay(first + datetime.timedelta(days=day), wanted * (day + 1) // days - wanted * day // days)
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


def time_of_cover(days: int = 60, copies: int = 120, repeats: int = 15) -> float:
    """Seconds the cover of one appliance takes, the median of `repeats` after one run that is not counted."""
    plan = example_plan(days, copies)
    work_out_cover(plan)
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work_out_cover(plan)
        times.append(time.perf_counter() - start)
    return statistics.median(times)
