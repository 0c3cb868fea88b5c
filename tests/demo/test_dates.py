"""The demo's calendar. Every case is constructed here."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import pytest

from continuity.demo.dates import Calendar

LONDON = ZoneInfo("Europe/London")


def test_sundays_are_off() -> None:
    calendar = Calendar(datetime.date(2026, 11, 25), LONDON)  # a Wednesday
    assert calendar.date(0) == datetime.date(2026, 11, 25)
    assert calendar.date(3) == datetime.date(2026, 11, 28)
    assert calendar.date(4) == datetime.date(2026, 11, 30)
    assert calendar.date(-3) == datetime.date(2026, 11, 21)


@pytest.mark.parametrize("offset", range(7))
def test_three_weeks_hold_eighteen_working_days(offset: int) -> None:
    today = datetime.date(2026, 11, 23) + datetime.timedelta(days=offset)
    calendar = Calendar(today, LONDON)
    dates = [calendar.date(day) for day in range(-6, 12)]
    assert dates == sorted(set(dates))
    assert today in dates
    assert (dates[-1] - dates[0]).days in (19, 20)
    assert not [date for date in dates if date.weekday() == 6 and date != today]


def test_when_today_is_a_sunday_the_saturday_before_is_off() -> None:
    calendar = Calendar(datetime.date(2026, 11, 29), LONDON)
    assert calendar.date(-1) == datetime.date(2026, 11, 27)
    assert calendar.date(1) == datetime.date(2026, 11, 30)


def test_a_time_past_midnight_is_in_the_night_that_follows() -> None:
    calendar = Calendar(datetime.date(2026, 11, 25), LONDON)
    assert calendar.moment(0, "25:10").isoformat() == "2026-11-26T01:10:00+00:00"
    assert Calendar(datetime.date(2026, 7, 1), LONDON).moment(0, "07:30").isoformat() == (
        "2026-07-01T07:30:00+01:00"
    )
