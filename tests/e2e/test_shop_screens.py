"""Every screen of the shop can be used by everybody, dark and light, and fits phone and tablet."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from .phone import NewPhone, Theme
from .served import Served
from .test_accessibility import look_at
from .test_shop_bench import begin_run, order  # noqa: F401 (a fixture)

STATIONS = ("Coats in the mould", "Weigh and pour", "Cure", "Out of the mould", "Labels")


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_screen_of_the_shop(
    new_phone: NewPhone,
    served: Served,
    theme: Theme,
    order: str,  # noqa: F811
) -> None:
    phone = new_phone("head", theme=theme)
    page = phone.page
    page.goto(f"/#/shop/{order}")
    expect(page.get_by_text("Needed on set")).to_be_visible()
    look_at(page, "Order")
    page.goto(f"/#/shop/ticket/{order}")
    expect(phone.heading("Order of work")).to_be_visible()
    look_at(page, "Cast ticket")
    bench = begin_run(phone)
    bench.take_lot("PG-A-114")
    look_at(page, "Lots")
    for station in STATIONS:
        bench.station(station)
        if station == "Coats in the mould":
            phone.tap("Start: Coat 1")
        if station == "Weigh and pour":
            bench.weigh("Part A", "35")
            page.get_by_role("button", name="Part B").click()
            bench.key_in("Part B", "40")
            look_at(page, "Number pad")
            page.keyboard.press("Escape")
        if station == "Out of the mould":
            bench.rejected(1, "Torn edge")
        look_at(page, station)
    for width, height in ((1024, 768), (1280, 900)):
        page.set_viewport_size({"width": width, "height": height})
        bench.station("Weigh and pour")
        look_at(page, f"Bench at {width}")
    page.set_viewport_size({"width": 390, "height": 844})
    for path, heading in (
        ("shop/parcel/new", "Pack a parcel"),
        ("shop/parcel/in", "Take copies in"),
        ("shop/materials", "Materials in stock"),
        ("shop/destinations", "Where orders go"),
        ("shop/order/new", "Order by hand"),
        ("copy", "Which copy?"),
    ):
        page.goto(f"/#/{path}")
        expect(phone.heading(heading)).to_be_visible()
        look_at(page, heading)


def test_what_is_touched_with_gloves_is_large(new_phone: NewPhone, order: str) -> None:  # noqa: F811
    phone = new_phone("shop")
    bench = begin_run(phone)
    for station in ("Lots", "Coats in the mould", "Out of the mould"):
        bench.station(station)
        region = phone.page.get_by_role("region", name=station)
        expect(region.get_by_role("button").first).to_be_visible()
        for button in region.get_by_role("button").all():
            box = button.bounding_box()
            assert box is not None
            assert min(box["width"], box["height"]) >= 70, (station, button.inner_text(), box)
