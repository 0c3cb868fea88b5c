"""Every screen can be used by everybody, in the dark and in the light, and fits the phone."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserType, Page, expect

from .phone import NewPhone, Phone, Theme
from .served import Json, Served

PERFORMER, LOOK = "Tamsin Oakhollow", "Cut brow, fresh"


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_screen(new_phone: NewPhone, theme: Theme) -> None:
    phone = new_phone("head", theme=theme)
    page = phone.page
    look_at(page, "Today")
    phone.sitting(PERFORMER, LOOK).click()
    expect(phone.section("Copies")).to_be_visible()
    look_at(page, "Sheet before the start")
    phone.tap("Start")
    phone.choose_material("Sealer", "Acrylic sealer, lot AS-640")
    expect(page.get_by_role("alert")).to_be_visible()
    look_at(page, "Sheet with a warning")
    phone.tap("Add photos")
    phone.panel("Add photos")
    look_at(page, "Question")
    page.keyboard.press("Escape")
    phone.go("Cover")
    expect(page.get_by_text("sure to the end").first).to_be_visible()
    look_at(page, "Cover")
    page.get_by_role("link", name="Cut brow, left,").first.click()
    expect(phone.heading("Shoot days")).to_be_visible()
    look_at(page, "Cover of an appliance")
    phone.go("Shop")
    look_at(page, "Shop")
    phone.go("Set-up")
    look_at(page, "Set-up")
    page.get_by_role("link", name="Looks").click()
    page.get_by_role("link", name="Cut brow, fresh").click()
    expect(page.get_by_label("Place in the progression")).to_be_visible()
    look_at(page, "Form")
    phone.cut_network()
    phone.go("Today")
    phone.sitting("Idris Penmarrow", "Burned cheek, fresh").click()
    phone.tap("Start")
    phone.go_unsent()
    expect(phone.heading("Waiting to go")).to_be_visible()
    look_at(page, "Not sent")
    phone.restore_network()
    phone.expect_not_sent(0)
    phone.tap("Sign out…")
    phone.panel("Sign out?").get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("User name")).to_be_visible()
    look_at(page, "Sign-in")


def test_letters_twice_as_large_do_not_run_over_the_side(
    served: Served, browser_type: BrowserType, browser_type_launch_args: Json, browser_context_args: Json
) -> None:
    """Twice the usual 16 px, as set in the browser."""
    flags = [*browser_type_launch_args["args"], "--blink-settings=defaultFontSize=32"]
    browser = browser_type.launch(**{**browser_type_launch_args, "args": flags})
    context = browser.new_context(**browser_context_args, base_url=served.url)
    phone = Phone(context, context.new_page())
    page = phone.page
    phone.open()
    phone.sign_in("shop")
    phone.go("Cover")
    page.get_by_role("link", name="Cut brow, left,").first.click()
    expect(phone.heading("Shoot days")).to_be_visible()
    look_at(page, "Cover of an appliance")
    phone.go("Shop")
    page.get_by_role("link", name=re.compile("Cut brow, left.*needed")).click()
    expect(phone.heading("So far")).to_be_visible()
    look_at(page, "Order")
    page.get_by_role("link", name=re.compile("^Cast ticket")).click()
    expect(phone.heading("Gel, in grams")).to_be_visible()
    look_at(page, "Cast ticket")
    # What is too wide even so is reached by key.
    weights = page.get_by_role("region", name="Gel, in grams")
    weights.focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    expect(weights.get_by_role("columnheader", name="Sum")).to_be_in_viewport(ratio=0.95)
    browser.close()


def look_at(page: Page, screen: str) -> None:
    found = Axe().run(page).response["violations"]
    serious = [
        (violation["id"], node["html"], node["failureSummary"])
        for violation in found
        if violation["impact"] in {"serious", "critical"}
        for node in violation["nodes"]
    ]
    assert not serious, screen
    wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wider == 0, f"{screen} is {wider} px wider than the phone"
