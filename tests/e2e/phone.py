"""A phone in somebody's hand: what they see of the app and what they tap."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, Protocol

from playwright.sync_api import BrowserContext, Locator, Page, expect

CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]

HANDSET: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
    "service_workers": "allow",
    "locale": "en-GB",
    "timezone_id": "Europe/London",
}

PASSWORD = "tide-table-52"  # of the demo's accounts, as load_demo prints it
ALL_SENT = "All sent"
Theme = Literal["dark", "light"]

# Every row of every table the app keeps on the phone, with bytes in base 64.
EVERYTHING_KEPT = """
async () => {
  const opened = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const letters = (bytes) => Array.from(new Uint8Array(bytes), (byte) => String.fromCharCode(byte)).join("");
  const kept = {};
  for (const { name } of await indexedDB.databases()) {
    const database = await opened(indexedDB.open(name));
    for (const table of database.objectStoreNames) {
      kept[table] = await opened(database.transaction(table).objectStore(table).getAll());
    }
    database.close();
  }
  return JSON.stringify(kept, (key, value) => (value instanceof ArrayBuffer ? btoa(letters(value)) : value));
}
"""

# Counts the transactions of the app's database that are under way. A tap begins one before anything else has
# a turn, and one that reads first begins the next from there; so when several turns find none, it is written.
WATCH_WRITES = """
(() => {
  let underWay = 0;
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (...asked) {
    const transaction = begin.apply(this, asked);
    underWay += 1;
    const ended = () => { underWay -= 1; };
    transaction.addEventListener("complete", ended);
    transaction.addEventListener("abort", ended);
    return transaction;
  };
  window.allWritten = async () => {
    for (let quiet = 0; quiet < 5; quiet = underWay ? 0 : quiet + 1) {
      await new Promise((turn) => setTimeout(turn, 10));
    }
    return true;
  };
})();
"""

KEPT_FOR_OFFLINE = """
async () => {
  await navigator.serviceWorker.ready;
  if (navigator.serviceWorker.controller) return;
  await new Promise((resolve) => navigator.serviceWorker.addEventListener("controllerchange", resolve));
}
"""


class Phone:
    def __init__(self, context: BrowserContext, page: Page) -> None:
        self.context = context
        self.page = page
        context.add_init_script(WATCH_WRITES)

    # The network

    def cut_network(self) -> None:
        self.context.set_offline(True)
        reached = self.page.evaluate("fetch('/api/session').then(() => true, () => false)")
        assert reached is False

    def restore_network(self) -> None:
        self.context.set_offline(False)

    # Getting about

    def open(self) -> None:
        self.page.goto("/")

    def reload(self) -> None:
        self.expect_written()
        self.page.reload()

    def expect_written(self) -> None:
        """What was tapped last lies on the phone, whether or not the screen has caught up."""
        self.page.wait_for_function("allWritten()")

    def sign_in(self, username: str, password: str = PASSWORD) -> None:
        """Signs in, and waits until the app is kept for opening offline and everything has been fetched."""
        self.page.get_by_label("User name").fill(username)
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()
        expect(self.heading("Today")).to_be_visible()
        expect(self.page.get_by_role("heading", name=re.compile("^Tamsin Oakhollow"))).to_be_visible()
        self.page.evaluate(KEPT_FOR_OFFLINE)

    def go(self, screen: str) -> None:
        """Taps one of the five at the foot: Today, Match, Cover, Shop, Set-up."""
        self.page.get_by_role("navigation", name="Screens").get_by_role("link", name=screen).click()
        expect(self.heading(screen)).to_be_visible()

    def go_unsent(self) -> None:
        self.page.get_by_test_id("unsent-line").click()
        expect(self.page.get_by_role("heading", name="This phone")).to_be_visible()

    def heading(self, words: str) -> Locator:
        return self.page.get_by_role("heading", name=words, exact=True)

    def tap(self, words: str) -> None:
        self.page.get_by_role("button", name=words, exact=True).click()

    def panel(self, title: str) -> Locator:
        """The question that came up from the bottom of the screen."""
        panel = self.page.get_by_role("dialog", name=title)
        expect(panel).to_be_visible()
        return panel

    # What is always on screen

    @property
    def unsent_line(self) -> Locator:
        return self.page.get_by_test_id("unsent-line").get_by_role("strong")

    def expect_not_sent(self, count: int) -> None:
        self.expect_written()
        expect(self.unsent_line).to_have_text(f"{count} not sent yet" if count else ALL_SENT)

    # Today and Cover

    def sitting(self, performer: str, look: str) -> Locator:
        """The line of a planned time in the chair on Today."""
        name = self.page.get_by_role("heading", name=re.compile(f"^{performer}"))
        person = self.page.get_by_role("article").filter(has=name)
        return person.get_by_role("link").filter(has_text=look)

    def expect_spares_on_today(self, performer: str, look: str, count: int) -> None:
        expect(self.sitting(performer, look)).to_contain_text(re.compile(rf"\b{count} on set"))

    def expect_spares_on_cover(self, appliance: str, count: int) -> None:
        said = re.compile(rf"^{re.escape(appliance)}, {count} spares?,")
        expect(self.page.get_by_role("link", name=said)).to_be_visible()

    # A sheet

    def section(self, title: str) -> Locator:
        return self.page.get_by_role("region", name=title, exact=True)

    @property
    def stage(self) -> Locator:
        return self.page.locator(".sheet header")

    def spoil_copy(self, serial: str, why: str) -> None:
        """Says that this copy was spoiled; the next one is taken with it."""
        self.section("Copies").get_by_role("button", name=serial).click()
        self.panel(f"Copy {serial}").get_by_role("button", name=why, exact=True).click()

    def add_adhesive(self, zone: str, adhesive: str, *, typed: bool = False) -> None:
        """In a zone of the look's earlier sheets, which is one tap, or in one that is typed."""
        self.tap("Adhesive for a zone")
        panel = self.panel("Adhesive")
        if typed:
            panel.get_by_label("Zone", exact=True).fill(zone)
        else:
            panel.get_by_role("button", name=zone, exact=True).click()
        panel.get_by_label("Adhesive", exact=True).select_option(label=adhesive)
        panel.get_by_role("button", name="Keep").click()
        expect(self.section("Adhesive and edge")).to_contain_text(f"Adhesive, {zone}")

    def choose_material(self, what: str, material: str) -> None:
        """An edge solvent or a sealer."""
        self.section("Adhesive and edge").get_by_role("button", name=re.compile(f"^{what}")).click()
        panel = self.panel(what)
        # An edge solvent is named with what it is, in brackets.
        [option] = [
            words for words in panel.get_by_role("option").all_inner_texts() if words.startswith(material)
        ]
        panel.get_by_label(what, exact=True).select_option(label=option)
        panel.get_by_role("button", name="Keep").click()
        expect(self.section("Adhesive and edge")).to_contain_text(material)

    def go_past_warning(self, warning: re.Pattern[str], why: str) -> None:
        self.page.get_by_role("alert").filter(has_text=warning).get_by_role(
            "button", name="Go on anyway"
        ).click()
        gone = self.page.get_by_role("group").filter(has_text="gone past").filter(has_text=warning)
        gone.get_by_text("gone past").first.click()
        self.write("Why", why)

    def choose_recipe(self, recipe: str, different: str) -> None:
        self.section("Paint").get_by_role("button", name=re.compile("^Recipe")).click()
        panel = self.panel("Paint")
        panel.get_by_label("Recipe").select_option(label=recipe)
        self.write("What was different today", different)
        panel.get_by_role("button", name="Close").click()

    def add_touch_up(self, reason: str) -> None:
        self.tap("Touch-up")
        panel = self.panel("Touch-up")
        panel.get_by_role("button", name=reason, exact=True).click()
        panel.get_by_role("button", name="Keep").click()
        expect(self.section("Touch-ups and breaks")).to_contain_text(reason)

    def add_photos(self, moment: str, photos: dict[str, Path]) -> None:
        """`photos` has a file for each angle."""
        self.tap("Add photos")
        panel = self.panel("Add photos")
        panel.get_by_role("radio", name=moment, exact=True).check()
        for angle, file in photos.items():
            panel.get_by_label(f"{angle}, {moment.lower()}", exact=True).set_input_files(file)
            expect(panel.locator("label").filter(has_text=angle)).to_contain_text("✓ 1")
        panel.get_by_role("button", name="Done").click()

    def write(self, label: str, words: str) -> None:
        """Into a field that is kept when it is left."""
        field = self.page.get_by_label(label)
        field.fill(words)
        field.blur()

    # What lies on the phone

    def everything_kept(self) -> dict[str, list[Any]]:
        kept: dict[str, list[Any]] = json.loads(self.page.evaluate(EVERYTHING_KEPT))
        return kept


class NewPhone(Protocol):
    """Gives somebody of the demo's crew a phone of their own, signed in and with everything fetched."""

    def __call__(self, username: str, theme: Theme = "dark") -> Phone: ...


class Handset:
    """A phone whose browser can be closed, and opened again with or without a network."""

    def __init__(self, switch_on: Callable[[], BrowserContext]) -> None:
        self._switch_on = switch_on
        self._phone: Phone | None = None

    def switch_on(self, *, network: bool) -> Phone:
        """Opens the browser and the app in it, from cold."""
        context = self._switch_on()
        context.set_offline(not network)
        self._phone = Phone(context, context.pages[0])
        self._phone.open()
        if not network:
            self._phone.cut_network()
        return self._phone

    def close(self) -> None:
        if self._phone:
            self._phone.context.close()
            self._phone = None
