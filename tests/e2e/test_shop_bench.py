"""The bench with no network, timers that outlive the browser, and copies picked by their label."""

from __future__ import annotations

import datetime
import re

import pytest
from playwright.sync_api import expect

from .bench import Bench, open_order
from .desk import Desk, furnish
from .phone import Handset, NewPhone, Phone
from .served import Served, expect_soon

APPLIANCE, PERFORMER, LOOK = "Cut brow, left", "Tamsin Oakhollow", "Cut brow, fresh"


@pytest.fixture
def order(served: Served) -> str:
    """Four copies of the cut brow, asked for by hand and under way; the shop has all it casts them from."""
    desk = Desk(served.url, "shop")
    furnish(desk, APPLIANCE)
    made = desk.write(
        "order",
        {
            "appliance": desk.named("appliance", APPLIANCE)[0],
            "mould": desk.named("mould", "Brow mould")[0],
            "raised_by": "hand",
            "copies": 3,
            "pours": 4,
            "needed_on": (datetime.date.today() + datetime.timedelta(days=5)).isoformat(),
            "why": "A second wound for the underwater day",
        },
    )
    desk.write("order", {"state": "taken_on"}, made)
    return made


def begin_run(phone: Phone) -> Bench:
    """From the ticket of the order by hand."""
    phone.page.goto("/#/shop")
    phone.page.get_by_role("link").filter(has_text="needed ").filter(
        has=phone.page.get_by_text("Taken on")
    ).click()
    expect(phone.page.get_by_text("A second wound for the underwater day")).to_be_visible()
    phone.page.get_by_role("link", name=re.compile("^Cast ticket")).click()
    expect(phone.heading("Order of work")).to_be_visible()
    phone.tap("Start a cast run")
    expect(phone.heading("Lots")).to_be_visible()
    return Bench(phone)


def test_a_timer_outlives_the_browser(handset: Handset, order: str) -> None:
    phone = handset.switch_on(network=True)
    phone.sign_in("shop")
    bench = begin_run(phone)
    run = phone.page.url.partition("#")[2].partition("?")[0]
    bench.station("Coats in the mould")
    phone.tap("Start: Coat 1")
    expect(bench.timer("Coat 1 in the mould")).to_contain_text(re.compile(r"(9|10):\d\d"))
    phone.expect_not_sent(0)
    handset.close()

    phone = handset.switch_on(network=False)
    started = datetime.datetime.now()
    phone.page.clock.set_fixed_time(started + datetime.timedelta(minutes=7))
    phone.page.goto(f"/#{run}")
    bench = Bench(phone)
    expect(bench.timer("Coat 1 in the mould")).to_contain_text(re.compile(r"[12]:\d\d"))
    phone.page.clock.set_fixed_time(started + datetime.timedelta(minutes=16))
    expect(phone.page.get_by_role("alert")).to_contain_text("then the next coat")
    expect(bench.timer("Coat 1 in the mould")).to_contain_text(re.compile(r"[56] min over"))
    phone.tap("Seen: Coat 1 in the mould")
    expect(bench.timer("Coat 1 in the mould")).to_be_hidden()
    phone.expect_not_sent(1)


def test_a_run_is_cast_with_no_network_and_synced_afterwards(
    new_phone: NewPhone, served: Served, order: str
) -> None:
    phone = new_phone("shop")
    # The ticket is kept because the order is in the list.
    phone.go("Shop")
    expect(phone.page.get_by_role("link").filter(has=phone.page.get_by_text("Taken on"))).to_be_visible()
    expect_soon(lambda: any(order in row["name"] for row in phone.everything_kept()["meta"]), True)
    copies = len(served.documents("copy"))
    phone.cut_network()
    bench = begin_run(phone)
    expect(phone.page.get_by_role("button", name=re.compile("^Temperature"))).to_be_visible()
    phone.page.get_by_role("button", name=re.compile("^Temperature")).click()
    bench.set_number("Temperature of the room", "23.5")
    bench.take_lot("PG-A-114")
    bench.station("Weigh and pour")
    # Four copies of 23.5 g with 10 % for cups and sticks, by hand: 25.85 g a copy in 8 : 8 : 7.5 is 8.8, 8.8
    # and 8.25 g, on the scale 8.8, 8.8 and 8.3 g; four times that.
    assert bench.aims() == {"Part A": "35.2", "Part B": "35.2", "Deadener": "33.2"}
    bench.weigh("Part A", "35.2")
    phone.page.get_by_role("button", name=re.compile("^Part B")).click()
    pad = bench.key_in("Part B", "38.5")
    expect(pad.get_by_role("alert")).to_have_text("B is 9.4 % over: 35.2 g of A ask for 35.2 g.")
    pad.get_by_role("button", name="Not now").click()
    bench.weigh("Part B", "35.3")
    expect(phone.page.get_by_role("alert")).to_be_hidden()
    bench.weigh("Deadener", "33.2")
    phone.tap("It is poured")
    bench.station("Out of the mould")
    bench.good(1)
    bench.rejected(2, "Bubble")
    bench.lower(3, "Background", "Thick edge")
    bench.good(4)
    serials = bench.give_serials()
    assert len(serials) == 3
    bench.station("Labels")
    expect(phone.page.get_by_text("No network: the sheet of labels is made by the server")).to_be_visible()
    # Hero copies are asked for: the one of background grade is a copy, and not one of these.
    expect(phone.page.get_by_text("2 of 3 of the order are good so far.")).to_be_visible()
    assert len(served.documents("copy")) == copies

    phone.restore_network()
    phone.expect_not_sent(0)
    [run] = [run for run in served.documents("cast_run").values() if run.get("order")]
    assert (run["good"], run["temperature_celsius"]) == (3, 23.5)
    assert [line["why"] for line in run["rejected"].values()] == ["Bubble"]
    [pour] = run["pours"].values()
    assert (pour["a_grams"], pour["b_grams"], pour["deadener_grams"]) == (35.2, 35.3, 33.2)
    made = {
        copy["serial"]: copy["grade"]
        for copy in served.documents("copy").values()
        if copy["serial"] in serials
    }
    assert made == dict(zip(serials, ("hero", "background", "hero"), strict=True))
    labels = phone.page.get_by_role("link", name="Open the sheet of labels")
    expect(labels).to_be_visible()
    pdf = phone.page.request.get(labels.get_attribute("href") or "")
    assert pdf.headers["content-type"] == "application/pdf"


def test_a_label_picks_the_copy_on_the_sheet(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("artist")
    [serial, *_] = sorted(
        copy["serial"]
        for copy in served.documents("copy").values()
        if copy["serial"].startswith("CB-") and copy["state"] == "on_set" and copy["grade"] == "hero"
    )
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Start")
    taken = phone.section("Copies").locator(".tag").inner_text()
    phone.tap("Take another copy")
    panel = phone.panel("Which copy?")
    panel.get_by_label("Or type the serial").fill("CB-999")
    panel.get_by_role("button", name="Take it").click()
    expect(panel.get_by_role("alert")).to_have_text("No copy CB-999 is known on this phone.")
    panel.get_by_label("Or type the serial").fill(taken)
    panel.get_by_role("button", name="Take it").click()
    expect(panel.get_by_role("status")).to_contain_text(f"{taken} is on this sheet already.")
    other = next(one for one in (serial, "CB-18", "CB-19", "CB-20") if one != taken)
    panel.get_by_label("Or type the serial").fill(other.lower())
    panel.get_by_role("button", name="Take it").click()
    expect(panel).to_be_hidden()
    expect(phone.section("Copies").locator(".tag").filter(has_text=other)).to_be_visible()


def test_the_address_on_a_label_opens_the_copy(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("artist")
    key, copy = next(
        (key, copy)
        for key, copy in served.documents("copy").items()
        if copy["serial"].startswith("CB-") and copy["state"] == "in_transit"
    )
    dashed = re.sub(r"(.{8})(.{4})(.{4})(.{4})(.{12})", r"\1-\2-\3-\4-\5", key)
    phone.cut_network()
    phone.page.goto(f"/#/copy/{dashed}")
    expect(phone.page.get_by_text(copy["serial"], exact=True)).to_be_visible()
    expect(phone.heading(APPLIANCE)).to_be_visible()
    phone.tap("It has arrived on set")
    expect(phone.page.get_by_text("On set", exact=True)).to_be_visible()
    phone.restore_network()
    phone.expect_not_sent(0)
    assert served.documents("copy")[key]["state"] == "on_set"
    phone.page.goto("/#/copy/019ac1d2-0000-7000-8000-00000000000a")
    expect(phone.page.get_by_text("This copy is not on this phone")).to_be_visible()


def test_the_shop_takes_on_what_the_head_orders_by_hand(new_phone: NewPhone, served: Served) -> None:
    head = new_phone("head")
    head.go("Shop")
    head.page.get_by_role("link", name="Order by hand").click()
    head.page.get_by_label("Appliance").select_option(label="Graze, small")
    head.page.get_by_label("Good copies wanted").fill("5")
    head.page.get_by_label("Why").fill("Two more for the pick-ups")
    head.page.get_by_role("button", name=re.compile("^Ask the shop")).click()
    expect(head.page.get_by_text("Two more for the pick-ups")).to_be_visible()
    head.expect_not_sent(0)

    shop = new_phone("shop")
    open_order(shop, "Graze, small")
    expect(shop.page.get_by_role("button", name="Call it off")).to_be_hidden()
    shop.tap("Take it on")
    shop.expect_not_sent(0)
    history = shop.page.get_by_role("list").filter(has_text="Asked for: 5 copies")
    expect(history).to_contain_text("Marit Dunsander")
    expect(history).to_contain_text("Taken on")

    head.reload()
    head.tap("Ask the shop for a change")
    panel = head.panel("Ask the shop for a change")
    panel.get_by_label("Good copies in all").fill("8")
    panel.get_by_label("Why").fill("A third pick-up day")
    panel.get_by_role("button", name="Ask", exact=True).click()
    head.expect_not_sent(0)
    shop.reload()
    asked = shop.page.get_by_role("region", name="A change is asked")
    expect(asked).to_contain_text("8 copies instead of 5.")
    asked.get_by_role("button", name="Agree: 8 copies").click()
    shop.expect_not_sent(0)
    shop.reload()
    expect(shop.page.get_by_text("8", exact=True)).to_be_visible()
    expect(asked).to_be_hidden()
    [order] = [
        order for order in served.documents("order").values() if order.get("why") == "A third pick-up day"
    ]
    assert (order["copies"], order["state"]) == (8, "taken_on")
