"""`python -m tests.e2e.screenshot`: the picture of the README, screens of a phone side by side."""

from __future__ import annotations

import datetime
import io
import re
import tempfile
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from PIL import Image
from playwright.sync_api import Browser, Page, expect, sync_playwright

from continuity.bootstrap import chromium
from continuity.bootstrap.places import FRONTEND

from .phone import CHROMIUM_FLAGS, HANDSET, Phone
from .served import Served, manage, serve

PICTURE = FRONTEND / "screenshots" / "phone.png"
SIZE = (390, 844)
GAP = 24
PAPER = (236, 232, 226)
MIDDLE = "(shown) => shown.scrollIntoView({ block: 'center' })"
COLOURS = 128  # keeps the picture small; the screens have few
PREPARED_WITHIN = 90_000  # milliseconds
PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="continuity-screenshot-") as scratch:
        data_dir = Path(scratch)
        manage(data_dir, "migrate", "--verbosity", "0")
        manage(data_dir, "load_demo")
        with serve(data_dir) as served:
            screens = take(served)
    width = len(screens) * SIZE[0] + (len(screens) + 1) * GAP
    sheet = Image.new("RGB", (width, SIZE[1] + 2 * GAP), PAPER)
    for index, screen in enumerate(screens):
        sheet.paste(screen, (GAP + index * (SIZE[0] + GAP), GAP))
    PICTURE.parent.mkdir(exist_ok=True)
    sheet.quantize(COLOURS, dither=Image.Dither.NONE).save(PICTURE, optimize=True)
    print(f"{PICTURE}: {PICTURE.stat().st_size // 1000} kB")


def take(served: Served) -> list[Image.Image]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.find(), args=CHROMIUM_FLAGS)
        compare = take_compare(switch_on(browser, served, "continuity"), served)
        phone = switch_on(browser, served, "artist")
        set_clock(phone.page, 7, 41)
        phone.go("Cover")
        phone.page.get_by_role("link", name=re.compile(f"^{APPLIANCE}, \\d")).click()
        expect(phone.heading("Shoot days")).to_be_visible()
        phone.page.get_by_text("Spares left", exact=True).evaluate(MIDDLE)
        cover = shoot(phone.page)
        phone.go("Today")
        phone.cut_network()
        phone.sitting(PERFORMER, LOOK).click()
        phone.tap("Start")
        set_clock(phone.page, 7, 58)
        phone.spoil_copy(phone.section("Copies").locator(".tag").inner_text(), "Edge folded")
        expect(phone.section("Copies").locator(".tag")).to_have_count(2)
        expect(phone.page.get_by_test_id("unsent-line")).to_have_text(
            re.compile("1 not sent yet · no network")
        )
        phone.page.evaluate("scrollTo(0, 0)")
        sheet = shoot(phone.page)
        phone.restore_network()
        phone.expect_not_sent(0)
        phone.go("Today")
        expect(phone.sitting(PERFORMER, LOOK)).to_contain_text("In the chair")
        today = shoot(phone.page)
        browser.close()
    return [today, sheet, compare, cover]


def switch_on(browser: Browser, served: Served, username: str) -> Phone:
    context = browser.new_context(base_url=served.url, color_scheme="dark", **HANDSET)
    phone = Phone(context, context.new_page())
    phone.open()
    phone.sign_in(username)
    return phone


def take_compare(phone: Phone, served: Served) -> Image.Image:
    """The established photo of the look beside the newest one, at their full sharpness."""
    [look] = [id_ for id_, found in served.documents("look").items() if found["name"] == LOOK]
    phone.page.goto(f"/#/match/{UUID(look)}/compare")
    # The server has just begun to prepare the demo's photos.
    expect(phone.page.locator(".stage .light canvas")).to_have_count(2, timeout=PREPARED_WITHIN)
    expect(phone.page.get_by_text("small picture")).to_have_count(0, timeout=PREPARED_WITHIN)
    return shoot(phone.page)


def set_clock(page: Page, hour: int, minute: int) -> None:
    """The phone's clock, so that the times shown are those of a morning in the trailer."""
    today = datetime.datetime.now(ZoneInfo("Europe/London"))
    page.clock.set_fixed_time(today.replace(hour=hour, minute=minute, second=0, microsecond=0))


def shoot(page: Page) -> Image.Image:
    page.evaluate("document.fonts.ready")
    return Image.open(io.BytesIO(page.screenshot())).convert("RGB")


if __name__ == "__main__":
    main()
