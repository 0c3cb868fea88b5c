"""Two photos of a look compared in every way, aligned, measured and decided on: with and without a network,
by touch and by keyboard alone."""

from __future__ import annotations

import json
import re
from functools import partial
from typing import Any, Literal

import pytest
from playwright.sync_api import Locator, Page, expect

from .phone import NewPhone, Phone, Theme
from .served import Served, expect_soon, plain
from .test_accessibility import look_at

LOOK = "Cut brow, fresh"
WAYS = ("Side by side", "Wipe", "Blink", "Difference")
Json = dict[str, Any]
Point = tuple[float, float]
Which = Literal["then", "now"]
BOTH: tuple[Which, Which] = ("then", "now")

# Where a place of a photo, in fractions of it, lies within the window that shows it, and on the screen.
PLACE = """
([which, x, y]) => {
  const photo = document.querySelectorAll(".stage .light .photo")[which === "then" ? 0 : 1];
  const { width, height } = photo.querySelector("canvas");
  const at = new DOMPoint(x * width, y * height).matrixTransform(new DOMMatrix(photo.style.transform));
  const window = photo.parentElement.getBoundingClientRect();
  return { inside: [at.x, at.y], onScreen: [window.left + at.x, window.top + at.y] };
}
"""

# As when the browser has cleared them, or they were never looked at.
FORGET_PICTURES = """
async () => {
  const opened = (request) => new Promise((resolve) => {
    request.onsuccess = () => resolve(request.result);
  });
  for (const { name } of await indexedDB.databases()) {
    const database = await opened(indexedDB.open(name));
    for (const table of ["thumbs", "larges"].filter((one) => database.objectStoreNames.contains(one))) {
      await opened(database.transaction(table, "readwrite").objectStore(table).clear());
    }
    database.close();
  }
}
"""


class Compare:
    """The compare screen of a look on somebody's phone."""

    def __init__(self, phone: Phone, served: Served) -> None:
        self.phone, self.page, self.served = phone, phone.page, served
        [self.look] = [
            identifier for identifier, look in served.documents("look").items() if look["name"] == LOOK
        ]
        self.page.goto(f"/#/match/{str_id(self.look)}/compare")
        self.expect_large_photos()

    def expect_large_photos(self) -> None:
        expect(self.page.locator(".stage .light canvas")).to_have_count(2)
        expect(self.page.get_by_text("small picture")).to_have_count(0)

    @property
    def title(self) -> Locator:
        return self.page.get_by_role("heading", level=1)

    @property
    def stage(self) -> Locator:
        return self.page.get_by_role("group", name=re.compile("zoom"))

    def photo(self, which: Which) -> Locator:
        return self.page.get_by_role("img").nth(0 if which == "then" else 1)

    def place(self, which: Which, at: Point) -> Json:
        expect(self.page.locator(".stage .light canvas")).to_have_count(2)
        found: Json = self.page.evaluate(PLACE, [which, *at])
        return found

    def inside(self, which: Which, at: Point) -> Point:
        across, down = self.place(which, at)["inside"]
        return across, down

    def tap_photo(self, which: Which, at: Point) -> None:
        self.page.touchscreen.tap(*self.place(which, at)["onScreen"])

    def choose_way(self, way: str) -> None:
        self.page.get_by_role("radio", name=way).check(force=True)

    def align(self, then: list[Point], now: list[Point]) -> None:
        self.page.get_by_role("button", name=re.compile("^Align")).first.click()
        for number, (one, other) in enumerate(zip(then, now, strict=True), start=1):
            expect(self.page.get_by_text(f"tap point {number}")).to_be_visible()
            self.tap_photo("then", one)
            expect(self.page.get_by_text("The same place.")).to_be_visible()
            self.tap_photo("now", other)
        self.page.get_by_role("button", name="Align", exact=True).click()

    def does_not_match(self, at: Point, words: str) -> None:
        self.phone.tap("Does not match")
        expect(self.title).to_have_text(re.compile("^Does not match"))
        self.tap_photo("now", at)
        self.page.get_by_role("button", name=words, exact=True).click()
        expect(self.page.get_by_label("What is wrong at pin 1")).to_have_value(words)
        self.phone.tap("Does not match")
        expect(self.title).to_have_text(re.compile("^Compare"))


@pytest.fixture
def compare(new_phone: NewPhone, served: Served) -> Compare:
    return Compare(new_phone("continuity"), served)


@pytest.mark.only_looks
def test_every_way_of_looking_has_zoom_and_place_locked(compare: Compare) -> None:
    corners: list[Point] = [(0, 0), (1, 1)]

    def width(which: Which) -> float:
        (left, _), (right, _) = (compare.inside(which, corner) for corner in corners)
        return right - left

    for way in WAYS:
        compare.choose_way(way)
        expect(compare.stage).to_have_attribute("aria-label", re.compile(f"{way.lower()}, zoom 1.0 times"))
        whole = width("then")
        box = compare.stage.bounding_box()
        assert box
        pinch = {"x": box["x"] + 90, "y": box["y"] + 150, "scaleFactor": 2.0, "gestureSourceType": "touch"}
        compare.page.context.new_cdp_session(compare.page).send("Input.synthesizePinchGesture", pinch)
        expect(compare.stage).not_to_have_attribute("aria-label", re.compile("zoom 1.0 times"))
        assert width("then") > 1.5 * whole, way
        assert width("now") == pytest.approx(width("then"), abs=0.1), way
        before = compare.inside("then", (0.5, 0.5)), compare.inside("now", (0.5, 0.5))
        compare.stage.focus()
        compare.page.keyboard.press("ArrowLeft")
        after = compare.inside("then", (0.5, 0.5)), compare.inside("now", (0.5, 0.5))
        moved = [(late[0] - early[0], late[1] - early[1]) for early, late in zip(before, after, strict=True)]
        assert moved[0][0] > 10, way
        assert moved[1] == pytest.approx(moved[0], abs=0.1), way
        compare.page.get_by_role("button", name="show the whole").click()


@pytest.mark.only_looks
def test_what_is_seen_differs_from_way_to_way(compare: Compare) -> None:
    compare.choose_way("Wipe")
    compare.page.get_by_role("slider", name=re.compile("begins")).fill("0.25")
    box = compare.stage.bounding_box()
    assert box
    now = compare.photo("now").bounding_box()
    assert now
    assert now["x"] - box["x"] == pytest.approx(box["width"] / 4, abs=1)
    compare.choose_way("Blink")
    compare.phone.tap("Stop")
    shown = compare.page.locator(".stage .light .window.unseen")
    expect(shown).to_have_count(1)
    hidden = shown.get_attribute("aria-label")
    compare.phone.tap("Change")
    expect(shown).not_to_have_attribute("aria-label", str(hidden))
    compare.choose_way("Difference")
    blended = compare.photo("now").evaluate("(window) => getComputedStyle(window).mixBlendMode")
    assert blended == "difference"


@pytest.mark.only_looks
def test_the_recipe_stands_beside_the_pair_and_the_way_back_leads_to_the_look(compare: Compare) -> None:
    page = compare.page
    compare.choose_way("Wipe")
    chosen = page.get_by_role("button", name=re.compile("Choose another"))
    expect(chosen).to_have_count(2)
    for button in chosen.all():
        expect(button).to_contain_text(re.compile(r"Cut brow, fresh, version \d"))
        expect(button).to_be_in_viewport(ratio=1)
    expect(page.get_by_role("region", name="What made them")).to_contain_text("Edge solvent")
    page.get_by_role("link", name="Back to the look").click()
    expect(page.get_by_role("heading", name="Angles")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(LOOK))


def test_without_a_network_and_read_afterwards(compare: Compare, new_phone: NewPhone, served: Served) -> None:
    phone = compare.phone
    before = {kind: set(served.documents(kind)) for kind in ("verdict", "colour_measurement")}

    def new(kind: str) -> list[Json]:
        return [document for key, document in served.documents(kind).items() if key not in before[kind]]

    phone.cut_network()
    # The large pictures that were looked at are still there.
    phone.go("Match")
    compare.page.goto(f"/#/match/{str_id(compare.look)}/compare")
    compare.expect_large_photos()

    then: list[Point] = [(0.35, 0.42), (0.64, 0.42), (0.5, 0.66)]
    now: list[Point] = [(0.40, 0.47), (0.66, 0.49), (0.53, 0.68)]
    compare.align(then[:2], now[:2])
    expect(compare.page.get_by_text(re.compile("^Aligned by your points"))).to_be_visible()
    for one, other in zip(then[:2], now[:2], strict=True):
        assert compare.inside("now", other) == pytest.approx(compare.inside("then", one), abs=1)

    compare.page.get_by_role("link", name="Measure colour").click()
    measure(compare)
    expect(compare.page.get_by_text("Not sent yet. The places are kept on this phone")).to_be_visible()
    compare.page.get_by_role("link", name="Compare", exact=True).click()
    compare.does_not_match((0.62, 0.36), "Too red")
    verdict = compare.page.get_by_role("region", name="Verdict")
    expect(verdict).to_contain_text("Does not match")
    expect(verdict).to_contain_text("not sent yet")
    assert not new("verdict")

    phone.restore_network()
    phone.expect_not_sent(0)
    [said] = new("verdict")
    [pin] = said["pins"].values()
    assert said["verdict"] == "does_not_match"
    assert pin["words"] == "Too red"
    assert (pin["x"], pin["y"]) == pytest.approx((0.62, 0.36), abs=0.01)
    [measured] = new("colour_measurement")
    assert measured["look"] == str_id(compare.look)
    assert [(round(point["x"], 2), round(point["y"], 2)) for point in measured["then"]["align"]] == then[:2]
    assert sorted(patch["role"] for patch in measured["patches"].values()) == ["edge", "piece", "skin"]

    # The artist's phone has read it from the feed.
    artist = new_phone("artist")
    artist.page.goto(f"/#/sheet/{said['application']}")
    expect(artist.page.get_by_text("Too red").first).to_be_visible()
    expect(artist.page.get_by_text("Does not match").first).to_be_visible()

    # One tap takes it back.
    compare.page.get_by_role("button", name=re.compile("^Take back")).click()
    expect(verdict).not_to_contain_text("Does not match")
    phone.expect_not_sent(0)
    expect_soon(lambda: new("verdict"), [])


def measure(compare: Compare) -> None:
    """Taps the grey card and the three places; a place tapped on one photo is proposed on the other."""
    page = compare.page
    expect(page.get_by_role("status").filter(has_text="the grey card")).to_be_visible()
    for which in ("then", "now"):
        compare.tap_photo(which, (0.11, 0.9))
    for place, at in {"Piece": (0.62, 0.35), "Edge": (0.68, 0.5), "Bare skin": (0.4, 0.6)}.items():
        expect(page.get_by_role("status").filter(has_text=place)).to_be_visible()
        compare.tap_photo("then", at)
    # The first tap shows today's photo for a moment only if nothing proposed its place there.
    expect(page.get_by_role("button", name=re.compile("not yet"))).to_have_count(0)
    compare.phone.tap("Measure")


@pytest.mark.only_looks
def test_held_sideways_photos_and_buttons_are_side_by_side(compare: Compare) -> None:
    page = compare.page
    page.set_viewport_size({"width": 844, "height": 390})
    expect(compare.stage).to_be_in_viewport(ratio=1)
    for way in WAYS:
        expect(page.locator("label").filter(has_text=way)).to_be_in_viewport(ratio=1)
    for button in ("Does not match", "Matches"):
        expect(page.get_by_role("button", name=button)).to_be_in_viewport(ratio=1)
    page.get_by_role("link", name="Measure colour").click()
    expect(page.get_by_role("status").filter(has_text="the grey card")).to_be_in_viewport(ratio=1)
    expect(compare.stage).to_be_in_viewport(ratio=1)
    expect(page.get_by_role("button", name="Measure", exact=True)).to_be_in_viewport(ratio=1)


@pytest.mark.only_looks
def test_the_scene_before_can_be_held_against(new_phone: NewPhone, served: Served) -> None:
    """The scene before is of another look; today's is compared with it in two taps."""
    looks = {one["name"]: key for key, one in served.documents("look").items()}
    look = looks["Cut brow, day 3"]
    [scene] = [key for key, one in served.documents("scene").items() if one["number"] == "31"]
    now = next(
        photo["sha256"]
        for sheet in served.documents("application").values()
        for photo in sheet.get("photos", {}).values()
        if plain(photo.get("scene") or "") == scene and photo["moment"] == "applied"
    )
    phone = new_phone("continuity")
    page = phone.page
    page.goto(f"/#/match/{str_id(look)}/compare?now={now}")
    expect(page.locator(".stage .light canvas")).to_have_count(2)
    page.get_by_role("button", name=re.compile("^Hold it against")).click()
    panel = page.get_by_role("dialog", name="Hold it against")
    panel.get_by_role("button", name=re.compile("^Before, in the story")).click()
    expect(panel).to_be_hidden()
    then = page.get_by_role("button", name=re.compile("^Hold it against"))
    expect(then).to_contain_text("Cut brow, day 1, version")
    expect(page.locator(".stage .light canvas")).to_have_count(2)


@pytest.mark.only_looks
def test_a_photo_that_is_not_on_this_phone_is_said_where_it_would_be(compare: Compare) -> None:
    page = compare.page
    compare.phone.go("Match")
    compare.phone.cut_network()
    page.evaluate(FORGET_PICTURES)
    page.goto(f"/#/match/{str_id(compare.look)}/compare")
    for which in ("then", "now"):
        expect(compare.photo(which)).to_have_text(re.compile("Not on this phone"))
    page.get_by_role("link", name="Measure colour").click()
    expect(page.get_by_text("Not on this phone").first).to_be_visible()


@pytest.mark.only_looks
def test_a_photo_shot_without_a_card_is_not_asked_for_one(new_phone: NewPhone, served: Served) -> None:
    [look] = [key for key, one in served.documents("look").items() if one["name"] == "Cut brow, day 1"]
    photos = [
        photo
        for sheet in served.documents("application").values()
        if plain(sheet["look"]) == look
        for photo in sheet.get("photos", {}).values()
        if photo["moment"] == "applied"
    ]
    without = next(photo["sha256"] for photo in photos if photo["card_in_frame"] is False)
    card = next(photo["sha256"] for photo in photos if photo["card_in_frame"])
    page = new_phone("continuity").page
    page.goto(f"/#/match/{str_id(look)}/compare?then={without}&now={card}")
    page.get_by_role("link", name="Measure colour").click()
    expect(page.get_by_text("it was said that no card is in it")).to_be_visible()
    [then, now] = page.get_by_role("combobox", name=re.compile("^Card on")).all()
    expect(then).to_have_value("none")
    expect(now).to_have_value("grey")


def test_by_keyboard_alone(compare: Compare, served: Served) -> None:
    page, press = compare.page, compare.page.keyboard.press
    before = set(served.documents("verdict"))
    compare.stage.focus()
    expect(page.locator("#stage-keys")).to_contain_text("Arrow keys move both photos")
    described = compare.stage.get_attribute("aria-describedby")
    assert described == "stage-keys"
    for key, way in zip("1234", WAYS, strict=True):
        press(key)
        expect(compare.stage).to_have_attribute("aria-label", re.compile(way.lower()))
    press("1")
    for _ in range(5):
        press("+")
    expect(compare.stage).to_have_attribute("aria-label", re.compile("zoom 3.1 times"))
    press("-")
    expect(compare.stage).to_have_attribute("aria-label", re.compile("zoom 2.4 times"))
    press("0")
    expect(compare.stage).to_have_attribute("aria-label", re.compile("zoom 1.0 times"))

    # Points go under the cross.
    tab_to(page, "Align")
    press("Enter")
    expect(compare.title).to_be_focused()
    compare.stage.focus()
    press("+")
    press("+")
    press("+")
    for sideways in ("ArrowLeft", "ArrowRight", "ArrowRight"):
        press(sideways)
        press("Enter")
        expect(compare.stage).to_have_attribute("aria-label", re.compile("tap the same places"))
        press("Enter")
    tab_to(page, "Align")
    press("Enter")
    expect(page.get_by_text(re.compile("^Aligned by your points"))).to_be_visible()
    expect(compare.title).to_be_focused()
    tab_to(page, "Matches")
    press("Enter")
    expect(page.get_by_role("region", name="Verdict")).to_contain_text("Matches")
    expect(page.get_by_role("group", name="What was said")).to_be_focused()

    def said() -> list[str]:
        return [one["verdict"] for key, one in served.documents("verdict").items() if key not in before]

    expect_soon(said, ["matches"])


def test_colour_is_measured_by_keyboard_alone(compare: Compare, served: Served) -> None:
    """Also a card in the corner of the photo, which is where most people hold it."""
    page, press = compare.page, compare.page.keyboard.press
    before = set(served.documents("colour_measurement"))
    tab_to(page, "Measure colour")
    press("Enter")
    expect(page.get_by_role("status").filter(has_text="the grey card")).to_be_visible()
    expect(page.get_by_role("button", name="Measure", exact=True)).to_have_accessible_description(
        "Tap the card on both photos, or choose None."
    )
    compare.stage.focus()
    places: list[Point] = [(0.11, 0.9), (0.62, 0.35), (0.68, 0.5), (0.4, 0.6)]
    for place in places:
        for which in BOTH:
            bring_under_the_cross(compare, which, place)
            press("Enter")
    expect(page.get_by_role("button", name=re.compile("not yet"))).to_have_count(0)
    tab_to(page, "Measure")
    press("Enter")
    expect(compare.phone.heading("Measured")).to_be_focused()

    def cards(which: Which) -> list[Point]:
        spots = [
            one[which]["card"]["spot"]
            for key, one in served.documents("colour_measurement").items()
            if key not in before
        ]
        return [(round(spot["x"], 1), round(spot["y"], 1)) for spot in spots]

    for of in BOTH:
        expect_soon(partial(cards, of), [(0.1, 0.9)])


def bring_under_the_cross(compare: Compare, which: Which, place: Point) -> None:
    """With arrow keys, the last of the way with Shift."""
    for _ in range(80):
        box = compare.stage.bounding_box()
        assert box
        across, down = compare.place(which, place)["onScreen"]
        far = (across - box["x"] - box["width"] / 2, down - box["y"] - box["height"] / 2)
        if max(abs(far[0]), abs(far[1])) <= 3.5:
            return
        for distance, more, less in ((far[0], "ArrowRight", "ArrowLeft"), (far[1], "ArrowDown", "ArrowUp")):
            if abs(distance) > 3.5:
                shift = "Shift+" if abs(distance) < 30 else ""
                compare.page.keyboard.press(f"{shift}{more if distance > 0 else less}")
    raise AssertionError(f"{place} of the {which} photo does not come under the cross")


def tab_to(page: Page, button: str) -> None:
    """Presses Tab until a button of this name has the focus."""
    for _ in range(60):
        page.keyboard.press("Tab")
        focused = page.evaluate("document.activeElement?.textContent?.replaceAll('✓', '').trim()")
        if focused == button:
            return
    raise AssertionError(f"Tab does not reach {button}")


@pytest.mark.only_looks
def test_screen_reader_is_told_what_is_shown(compare: Compare) -> None:
    for which in ("then", "now"):
        told = compare.photo(which).get_attribute("aria-label") or ""
        assert re.search(r"Front, applied", told), told
    told = compare.photo("now").get_attribute("aria-label") or ""
    assert re.search(r"scene \w+, story day -?\d+", told), told


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_the_screens_can_be_used_by_everybody(new_phone: NewPhone, served: Served, theme: Theme) -> None:
    compare = Compare(new_phone("continuity", theme=theme), served)
    phone, page = compare.phone, compare.page
    for way in WAYS:
        compare.choose_way(way)
        look_at(page, way)
    compare.choose_way("Side by side")
    phone.tap("Align")
    look_at(page, "Align")
    phone.tap("Leave it")
    phone.tap("Does not match")
    compare.tap_photo("now", (0.5, 0.4))
    look_at(page, "Pin")
    phone.tap("Leave it")
    phone.tap("Matches")
    look_at(page, "Decided")
    page.get_by_role("button", name=re.compile("Choose another")).first.click()
    phone.panel("Hold it against")
    look_at(page, "Another photo")
    page.keyboard.press("Escape")
    compare.align([(0.35, 0.42), (0.64, 0.42)], [(0.36, 0.42), (0.65, 0.42)])
    page.get_by_role("link", name="Measure colour").click()
    expect(page.get_by_role("status").filter(has_text="the grey card")).to_be_visible()
    look_at(page, "Measure")
    measure(compare)
    expect(phone.heading("Measured")).to_be_visible()
    look_at(page, "Measured")


def str_id(digits: str) -> str:
    """An id as documents have it, from one as the database has it."""
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def test_bounds_of_the_words_are_the_productions(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("head")
    phone.go("Set-up")
    [production] = [row["id"] for row in served.rows("SELECT id FROM sync_record WHERE kind = 'production'")]
    phone.page.goto(f"/#/set-up/production/{str_id(production)}")
    phone.page.get_by_label("Close up to").fill("5")
    phone.page.get_by_label("Close up to").blur()
    phone.tap("Save changes")
    expect(phone.page.get_by_text("More than what is close")).to_be_visible()
    phone.page.get_by_label("Visible side by side up to").fill("6.5")
    phone.page.get_by_label("Visible side by side up to").blur()
    phone.tap("Save changes")

    def bounds() -> list[float]:
        [row] = served.rows("SELECT document FROM sync_record WHERE kind = 'production'")
        document = json.loads(row["document"])
        return [document["colour_close"], document["colour_visible"]]

    expect_soon(bounds, [5, 6.5])
