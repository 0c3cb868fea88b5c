"""Materials: what is left is measured, and how sure it is that it lasts is told beside until when."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from .phone import NewPhone, Theme
from .served import Served, expect_soon
from .test_accessibility import look_at

MATERIAL = "Silicone adhesive"


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_what_is_left_is_measured(new_phone: NewPhone, served: Served, theme: Theme) -> None:
    phone = new_phone("artist", theme=theme)
    page = phone.page
    phone.go("Shop")
    page.get_by_role("link", name=re.compile("^Materials in stock")).click()
    expect(phone.heading("Materials in stock")).to_be_visible()
    page.get_by_role("link", name=re.compile(f"^{MATERIAL} lot ")).click()
    lot = phone.panel(MATERIAL)
    expect(lot).to_contain_text(
        re.compile(r"\d % sure to the end of what is planned, by 3 measurements: 2\.1 ml")
    )
    look_at(page, "A lot")

    phone.cut_network()
    lot.get_by_role("button", name="Measure what is left").click()
    pad = phone.panel(f"Left of {MATERIAL}")
    for key in "75":
        pad.get_by_role("button", name=key, exact=True).click()
    expect(pad.get_by_role("alert")).to_contain_text("The lot held 60 ml when it was entered")
    for key in ("Delete the last digit", "Delete the last digit", "1", "Point", "5"):
        pad.get_by_role("button", name=key, exact=True).click()
    pad.get_by_role("button", name="Set", exact=True).click()
    expect(lot).to_contain_text("1.5 ml at the end of ")
    phone.expect_not_sent(1)

    phone.restore_network()
    phone.expect_not_sent(0)
    expect(lot).to_contain_text("1.5 ml of 60 ml")
    expect(lot).to_contain_text(re.compile(r"1\.5 ml left.*(less than 0\.01|0\.\d+|\d) % sure to the end"))
    materials = served.documents("material").values
    expect_soon(
        lambda: [len(found["weighings"]) for found in materials() if found["name"] == MATERIAL],
        [4],
    )
