"""The demo's calendar: working days counted from today, in the time zone of the production."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

SUNDAY = 6
ONE_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Calendar:
    """Six days of work a week. ``today`` is working day 0, yesterday's -1; Sundays are off.

    When today is itself a Sunday, the Saturday before it is that week's day off.
    """

    today: datetime.date
    zone: ZoneInfo

    def date(self, working_day: int) -> datetime.date:
        """The date of a working day, counted from today."""
        step = ONE_DAY if working_day > 0 else -ONE_DAY
        left, date = abs(working_day), self.today
        while left:
            date += step
            left -= not self._off(date)
        return date

    def moment(self, working_day: int, clock: str) -> datetime.datetime:
        """A time of that day, "07:30"; "25:10" is ten past one in the night that follows."""
        hours, minutes = (int(part) for part in clock.split(":"))
        midnight = datetime.datetime.combine(self.date(working_day), datetime.time())
        return (midnight + datetime.timedelta(hours=hours, minutes=minutes)).replace(tzinfo=self.zone)

    def _off(self, date: datetime.date) -> bool:
        if self.today.weekday() == SUNDAY and date in (self.today, self.today - ONE_DAY):
            return date != self.today
        return date.weekday() == SUNDAY
