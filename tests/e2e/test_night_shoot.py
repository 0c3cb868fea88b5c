"""After midnight the day on the phone is still that of the night shoot, until it is over."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from .phone import NewPhone
from .served import Served


@pytest.mark.only_looks
def test_the_night_goes_on_until_two_hours_after_its_wrap(new_phone: NewPhone, served: Served) -> None:
    [production] = served.documents("production").values()
    zone = ZoneInfo(production["time_zone"])
    today = datetime.datetime.now(zone).date()
    [night] = [
        datetime.date.fromisoformat(day["date"])
        for day in served.documents("shoot_day").values()
        if day["wrap"] == "03:00" and day["date"] >= today.isoformat()
    ]
    morning = night + datetime.timedelta(days=1)
    phone = new_phone("artist")
    page = phone.page

    def at(time: str) -> None:
        clock = datetime.datetime.combine(morning, datetime.time.fromisoformat(time), zone)
        page.clock.set_fixed_time(clock)
        phone.reload()
        expect(phone.heading("Today")).to_be_visible()

    at("01:30")
    expect(page.get_by_text(f"the night of {night:%A} goes on")).to_be_visible()
    expect(page.get_by_text(f"{night:%A}, {night.day} {night:%B %Y}")).to_be_visible()
    expect(page.get_by_text("Crew call 15:00 · wrap 03:00")).to_be_visible()
    page.get_by_role("button", name="The day after").click()
    expect(phone.heading(f"{morning:%A}")).to_be_visible()
    page.get_by_role("link", name="Back to today").click()
    expect(page.get_by_text("wrap 03:00")).to_be_visible()

    # The unit's next call is at five, when the night would be over too.
    at("05:00")
    expect(page.get_by_text("the night of")).to_have_count(0)
    expect(page.get_by_text("Crew call 05:00 · wrap 16:00")).to_be_visible()
