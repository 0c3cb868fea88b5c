"""What is done in the shop with gloves on: an order taken on, cast at the bench, and its labels."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from pathlib import Path

import pypdfium2
import zxingcpp
from PIL import Image
from playwright.sync_api import Locator, Page, expect

from .phone import Phone

DOTS = 6
FRAME = (1280, 720)


class Bench:
    """The bench view on a phone that is open at a cast run."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.page: Page = phone.page

    def station(self, words: str) -> None:
        stations = self.page.get_by_role("list", name="Stations")
        stations.get_by_role("button", name=words, exact=True).click()
        expect(self.phone.heading(words)).to_be_visible()

    def key_in(self, panel: str, number: str) -> Locator:
        """A number by the large keys; the panel stays open."""
        pad = self.phone.panel(panel)
        for key in number:
            pad.get_by_role("button", name="Point" if key == "." else key, exact=True).click()
        return pad

    def set_number(self, panel: str, number: str) -> None:
        pad = self.key_in(panel, number)
        pad.get_by_role("button", name="Set").click()
        expect(pad).to_be_hidden()

    def take_lot(self, lot: str) -> None:
        """By its lot number."""
        key = self.page.get_by_role("button").filter(has_text=f"lot {lot}")
        key.click()
        expect(key).to_have_attribute("aria-pressed", "true")

    def weigh(self, part: str, grams: str) -> None:
        self.page.get_by_role("button", name=re.compile(rf"^{part}")).click()
        self.set_number(part, grams)
        shown = f"{float(grams):.1f} g"  # with the digits of the scale
        expect(self.page.get_by_role("button", name=re.compile(rf"^{part}"))).to_contain_text(shown)

    def aims(self) -> dict[str, str]:
        """Grams that the ticket asks for, by part."""
        found = {}
        for part in ("Part A", "Part B", "Deadener"):
            words = self.page.get_by_role("button", name=re.compile(rf"^{part}")).inner_text()
            [grams] = re.findall(r"aim ([\d.]+) g", words)
            found[part] = grams
        return found

    def timer(self, what: str) -> Locator:
        return self.page.get_by_role("list", name="Timers").get_by_role("listitem").filter(has_text=what)

    def cavity(self, number: int) -> Locator:
        return self.page.get_by_role("article", name=f"Cavity {number}", exact=True)

    def good(self, number: int) -> None:
        self.cavity(number).get_by_role("button", name="Good").click()
        expect(self.cavity(number).get_by_role("button", name="Good")).to_have_attribute(
            "aria-pressed", "true"
        )

    def rejected(self, number: int, why: str) -> None:
        self.cavity(number).get_by_role("button", name="Reject").click()
        panel = self.page.get_by_role("dialog", name=f"Cavity {number}: rejected, because")
        panel.get_by_role("button", name=why, exact=True).click()
        expect(self.cavity(number)).to_contain_text(why)

    def lower(self, number: int, grade: str, why: str) -> None:
        self.cavity(number).get_by_role("button", name="Lower").click()
        panel = self.page.get_by_role("dialog", name=f"Cavity {number}: of a lower grade")
        panel.get_by_role("button", name=grade, exact=True).click()
        panel.get_by_role("button", name=why, exact=True).click()
        expect(self.cavity(number)).to_contain_text(grade)

    def give_serials(self) -> list[str]:
        """The serials that the copies were given."""
        self.page.get_by_role("button", name=re.compile("^Give .* serial")).click()
        panel = self.phone.panel("Serials")
        serials = panel.get_by_role("listitem").locator(".tag").all_inner_texts()
        panel.get_by_role("button", name=re.compile("^Make ")).click()
        expect(panel).to_be_hidden()
        return serials


def open_order(phone: Phone, words: str) -> None:
    """The order in the shop's list that says these words, opened."""
    phone.go("Shop")
    line = phone.page.get_by_role("link").filter(has_text=re.compile("needed ")).filter(has_text=words)
    line.click()
    expect(phone.page.get_by_text("Needed on set")).to_be_visible()


def codes_of(pdf: bytes) -> dict[str, Image.Image]:
    """The text of every code on the pages of a PDF, read by an independent reader, with a picture of it."""
    found = {}
    for page in pypdfium2.PdfDocument(io.BytesIO(pdf)):
        picture = page.render(scale=DOTS).to_pil().convert("RGB")
        for code in zxingcpp.read_barcodes(picture):
            xs = [getattr(code.position, corner).x for corner in CORNERS]
            ys = [getattr(code.position, corner).y for corner in CORNERS]
            room = (max(xs) - min(xs)) // 5
            box = (min(xs) - room, min(ys) - room, max(xs) + room, max(ys) + room)
            found[code.text] = picture.crop(box)
    return found


CORNERS = ("top_left", "top_right", "bottom_right", "bottom_left")


def film(path: Path, pictures: Iterable[Image.Image]) -> Path:
    """Motion JPEG of the labels held before a camera, one after another, each for a while."""
    with path.open("wb") as frames:
        for picture in pictures:
            frame = Image.new("RGB", FRAME, (150, 140, 130))
            label = picture.resize((420, 420))
            frame.paste(label, ((FRAME[0] - 420) // 2, (FRAME[1] - 420) // 2))
            raw = io.BytesIO()
            frame.save(raw, "JPEG", quality=92)
            for _ in range(30):
                frames.write(raw.getvalue())
    return path
