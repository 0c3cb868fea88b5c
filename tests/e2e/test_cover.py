"""Cover on a phone: reasons of a number, what if, an order that appears by itself, and the page as PDF."""

from __future__ import annotations

import contextlib
import datetime
import re
from typing import Any

import pytest
from playwright.sync_api import Locator, expect
from playwright.sync_api import TimeoutError as TooSlow
from pypdf import PdfReader

from continuity.cover.order_words import day_in_words

from .phone import NewPhone, Phone
from .served import Served, expect_soon

Json = dict[str, Any]

BROW, CHEEK = "Cut brow, left", "Burned cheek, right"
SPOILED = 5


def open_cover(phone: Phone, appliance: str) -> None:
    phone.go("Cover")
    phone.page.get_by_role("link", name=re.compile(f"^{appliance}, \\d")).click()
    expect(phone.heading(appliance)).to_be_visible()
    expect(phone.heading("Shoot days")).to_be_visible()


def close(panel: Locator) -> None:
    panel.get_by_role("button", name="Close").click()
    expect(panel).to_be_hidden()


@pytest.mark.only_looks
def test_a_number_opens_to_its_reasons(new_phone: NewPhone) -> None:
    head = new_phone("head")
    open_cover(head, BROW)
    spoiled = head.page.get_by_role("button", name=re.compile(r"^\d+ spoiled: which ones"))
    number = int(spoiled.inner_text())
    assert number > 0
    spoiled.click()
    lines = head.panel("Spoiled").get_by_role("link")
    expect(lines).to_have_count(number)
    lines.first.click()
    # A line of the log opens the sheet on which it was written.
    expect(head.page).to_have_url(re.compile("#/sheet/"))

    open_cover(head, BROW)
    day = head.page.get_by_role("button", name=re.compile("who wears it$")).first
    copies = int(re.findall(r"(\d+) cop", day.inner_text())[0])
    day.click()
    asking = head.page.get_by_role("dialog", name=re.compile("who wears it"))
    expect(asking.get_by_text(re.compile("Maren Sedge"))).to_have_count(copies)
    expect(asking.get_by_role("link", name=re.compile("^Scene")).first).to_be_visible()
    close(asking)

    head.page.get_by_role("button", name=re.compile("On set and good to use: which ones")).click()
    expect(head.panel("On set and good to use")).to_contain_text("Use by")
    close(head.panel("On set and good to use"))

    spares = head.page.get_by_role("button", name=re.compile("spares for those that do not last"))
    enough = spares.inner_text()
    spares.click()
    # The fewest spares whose chance reaches what is wanted end the table.
    last = head.panel("Spares for those that do not last").get_by_role("row").last
    expect(last.get_by_role("rowheader")).to_have_text(enough)
    chance = re.search(r"[\d.]+", last.inner_text().split("\n")[-1].split("\t")[-1])
    assert chance is not None
    assert float(chance.group()) >= 98


def test_what_is_on_a_face_already_is_not_said_to_be_not_worn(new_phone: NewPhone) -> None:
    artist = new_phone("artist")
    open_cover(artist, CHEEK)
    today = artist.page.get_by_role("row").filter(has=artist.page.get_by_role("rowheader")).first
    expect(today).not_to_contain_text("on already")
    artist.go("Today")
    artist.sitting("Idris Penmarrow", "Burned cheek").first.click()
    artist.tap("Start")
    artist.expect_not_sent(0)
    open_cover(artist, CHEEK)
    expect(today).to_contain_text("1 on already")
    expect(today).not_to_contain_text("not worn")


def try_change(phone: Phone, sort: str) -> Locator:
    """Where nothing is tried yet the page asks by itself, sooner or later than the button is found."""
    button = phone.page.get_by_role("button", name=re.compile("^(Try a change|And what if…)$"))
    what = phone.page.get_by_role("dialog", name="What changes?")
    if not what.is_visible():
        with contextlib.suppress(TooSlow):
            button.click(timeout=3000)
    expect(what).to_be_visible()
    what.get_by_role("button", name=re.compile(f"^{sort}")).click()
    return phone.panel(sort)


def worked_out(phone: Phone) -> None:
    expect(
        phone.page.get_by_role("status").filter(has_text=re.compile(r"of \d+ appliances change"))
    ).to_be_attached()


def free_date(served: Served) -> datetime.date:
    """Well after the last shoot day."""
    last = max(datetime.date.fromisoformat(day["date"]) for day in served.documents("shoot_day").values())
    return last + datetime.timedelta(days=9)


def kept(served: Served) -> list[str]:
    return [entry["id"] for entry in served.entries()]


def lose(phone: Phone, appliance: str, copies: int) -> None:
    panel = try_change(phone, "Lose copies")
    panel.get_by_label("Appliance").select_option(label=appliance)
    panel.get_by_label("Copies lost").fill(str(copies))
    panel.get_by_role("button", name="Lose them").click()
    worked_out(phone)


@pytest.mark.only_looks
def test_what_if_stands_beside_today_and_saves_nothing(new_phone: NewPhone, served: Served) -> None:
    head = new_phone("head")
    before, today = kept(served), served.documents("shoot_day")
    head.go("Cover")
    head.page.get_by_role("link", name="What if…").click()
    lose(head, CHEEK, 12)
    beside = head.page.get_by_role("article").filter(has_text=CHEEK)
    expect(beside).to_contain_text("Today")
    expect(beside).to_contain_text("Then, worse")
    expect(beside).to_contain_text("Covered")
    expect(beside).to_contain_text(re.compile("At risk|Likely to run short"))

    move = try_change(head, "Move a shoot day")
    option = move.get_by_role("option").nth(1).inner_text()
    move.get_by_label("Shoot day").select_option(label=option)
    move.get_by_label("To").fill(free_date(served).isoformat())
    move.get_by_role("button", name="1 day later").click()
    move.get_by_role("button", name="Move it").click()
    worked_out(head)
    changes = head.page.get_by_role("list").filter(has_text="is moved to").get_by_role("listitem")
    expect(changes).to_have_count(2)

    wanted = try_change(head, "Want to be surer")
    wanted.get_by_role("button", name="90 %").click()
    wanted.get_by_role("button", name="Want that").click()
    worked_out(head)
    expect(changes).to_have_count(3)
    assert (kept(served), served.documents("shoot_day")) == (before, today)

    changes.nth(0).get_by_role("button", name=re.compile("^Take out")).click()
    worked_out(head)
    head.tap("Start over")
    expect(head.page.get_by_text("No change yet.")).to_be_visible()
    assert kept(served) == before


def reshoot(phone: Phone, date: datetime.date) -> str:
    """Tries a scene that is shot again on this date; its number."""
    panel = try_change(phone, "Shoot a scene again")
    words = panel.get_by_role("option").nth(1).inner_text()
    panel.get_by_label("Scene").select_option(label=words)
    panel.get_by_label("Shot again on").fill(date.isoformat())
    panel.get_by_role("button", name="Shoot it again").click()
    worked_out(phone)
    return words.partition(",")[0]


def save_it(phone: Phone) -> Locator:
    phone.page.get_by_role("button", name="Save it…").click()
    return phone.panel("Save it for everybody?")


def test_a_tried_reshoot_is_saved_for_real(new_phone: NewPhone, served: Served) -> None:
    head = new_phone("head")
    days, free = served.documents("shoot_day"), free_date(served)
    head.go("Cover")
    head.page.get_by_role("link", name="What if…").click()
    number = reshoot(head, free)
    assert served.documents("shoot_day") == days
    panel = save_it(head)
    expect(panel).to_contain_text("a shoot day of its own")
    panel.get_by_role("button", name="Save it", exact=True).click()
    expect(head.page.get_by_text(re.compile(f"^Saved: scene {number} is shot again"))).to_be_visible()
    head.expect_not_sent(0)
    numbers = {key: scene["number"] for key, scene in served.documents("scene").items()}

    def planned(date: datetime.date) -> list[list[str]]:
        return [
            [numbers[scene["scene"].replace("-", "")] for scene in day["scenes"]]
            for day in served.documents("shoot_day").values()
            if day["date"] == date.isoformat()
        ]

    expect_soon(lambda: planned(free), [[number]])
    # On a date with a shoot day the scene is put behind those planned.
    reshoot(head, free)
    panel = save_it(head)
    expect(panel).to_contain_text("It goes to the end of the shoot day")
    panel.get_by_role("button", name="Save it", exact=True).click()
    expect_soon(lambda: planned(free), [[number, number]])


def test_an_order_appears_by_itself_after_an_application(new_phone: NewPhone, served: Served) -> None:
    appliances = {key: each["name"] for key, each in served.documents("appliance").items()}

    def ordered() -> set[str]:
        return {
            appliances[order["appliance"].replace("-", "")] for order in served.documents("order").values()
        }

    artist = new_phone("artist")
    expect_soon(lambda: ordered() >= {BROW}, True)
    assert CHEEK not in ordered()
    artist.sitting("Idris Penmarrow", "Burned cheek").first.click()
    artist.tap("Start")
    for spoiled in range(1, SPOILED + 1):
        artist.spoil_copy(artist.section("Copies").locator(".tag").last.inner_text(), "Edge folded")
        expect(artist.section("Copies").locator(".tag")).to_have_count(spoiled + 1)
    artist.expect_not_sent(0)
    expect_soon(lambda: CHEEK in ordered(), True)
    (order,) = [
        order
        for order in served.documents("order").values()
        if appliances[order["appliance"].replace("-", "")] == CHEEK
    ]
    shop = new_phone("shop")
    shop.go("Shop")
    expect(shop.page.get_by_role("link").filter(has_text=CHEEK).first).to_be_visible()
    open_cover(shop, CHEEK)
    ticket = shop.page.get_by_role("region", name="Order")
    expect(ticket).to_contain_text("To order")
    expect(ticket).to_contain_text("Asked for")
    expect(ticket).to_contain_text(re.compile(rf"{order['copies']}\s*good cop"))


@pytest.mark.only_looks
def test_the_page_for_the_meeting_opens(new_phone: NewPhone, served: Served) -> None:
    head = new_phone("head")
    expect_soon(lambda: bool(served.documents("order")), True)
    head.go("Cover")
    with head.page.expect_download() as downloading:
        head.tap("Page for the meeting (PDF)")
    words = " ".join(PdfReader(downloading.value.path()).pages[0].extract_text().split())
    for appliance in served.documents("appliance").values():
        assert appliance["name"] in words
    order = next(iter(served.documents("order").values()))
    assert f"! {BROW}" in words
    assert f"{order['copies']} copies, {order['pours']} pours" in words
    assert day_in_words(datetime.date.fromisoformat(order["latest_start"])) in words


@pytest.mark.only_looks
def test_the_outlook_is_there_without_a_network_though_cover_was_never_opened(new_phone: NewPhone) -> None:
    phone = new_phone("artist")
    # As soon as it has been fetched ahead, it is among what the phone keeps.
    expect_soon(
        lambda: any(row["name"].startswith("cover:") for row in phone.everything_kept()["meta"]), True
    )
    phone.cut_network()
    phone.reload()
    open_cover(phone, BROW)
    expect(phone.page.get_by_text("Worked out at")).to_be_visible()
