"""Which shoot day it is, also after midnight: a night shoot belongs to the date on which it began.

The phone has the same rule in ``frontend/src/domain/shootDate.ts``, and ``tests/cases/shoot_date.json`` holds
both to it.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

AFTER_WRAP = datetime.timedelta(hours=2)
"""For removal, and for a wrap that comes later than planned. Chosen here."""


@dataclass(frozen=True)
class Hours:
    """When a unit shoots, on the production's clocks. A wrap not later than the call is on the next day."""

    date: datetime.date
    crew_call: datetime.time
    wrap: datetime.time

    @property
    def overnight(self) -> bool:
        return self.wrap <= self.crew_call


def shoot_date(clock: datetime.datetime, days: Iterable[Hours]) -> datetime.date:
    """The date whose shoot day goes on at ``clock``, a time on the production's clocks without a time zone.

    The date before, while its night shoot goes on and until `AFTER_WRAP`, unless a unit's call of the new
    date has come; otherwise the date itself. That the day lasts until the wrap is common practice, no source.
    """
    date = clock.date()
    before = date - datetime.timedelta(days=1)
    begun = False
    goes_on = False
    for day in days:
        begun |= day.date == date and day.crew_call <= clock.time()
        ends = datetime.datetime.combine(date, day.wrap) + AFTER_WRAP
        goes_on |= day.date == before and day.overnight and clock < ends
    return before if goes_on and not begun else date
