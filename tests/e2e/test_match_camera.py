"""Match on a phone with a camera: the same picture again.

The camera sees a real photograph (see `fake_camera`); all of it happens with no network, and is then synced.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, BrowserType, Locator, Page, ViewportSize, expect

from .fake_camera import SIZE, FakeCamera, in_the_dark, out_of_focus
from .phone import Handset, Phone, Theme
from .pictures import take_photo
from .served import Json, Served, expect_soon, plain
from .test_accessibility import look_at
from .test_match_find import (
    CHARACTER,
    LOOK,
    PERFORMER,
    SCENE,
    expect_drawn,
    expect_kept_ahead,
    open_look,
)

SIDEWAYS: ViewportSize = {"width": 844, "height": 390}

# Remembers every stream the page is given, so that it can be asked whether the camera is off.
REMEMBERS_STREAMS = """
window.streams = [];
const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (wanted) => {
  const stream = await ask(wanted);
  window.streams.push(stream);
  return stream;
};
"""
LIVE_TRACKS = """
() => window.streams.flatMap((one) => one.getTracks()).filter((one) => one.readyState === "live").length
"""
HIDE = """
(state) => {
  Object.defineProperty(document, "visibilityState", { configurable: true, get: () => state });
  document.dispatchEvent(new Event("visibilitychange"));
}
"""


@pytest.fixture
def camera(tmp_path: Path) -> FakeCamera:
    return FakeCamera(tmp_path / "camera.mjpeg")


@pytest.fixture
def camera_phone(
    camera: FakeCamera,
    served: Served,
    browser_type: BrowserType,
    browser_type_launch_args: Json,
    browser_context_args: Json,
    tmp_path: Path,
) -> Iterator[Callable[..., Phone]]:
    """Switches on a phone with a camera; it can be switched off and on again."""
    allowed = True

    def switch_on() -> BrowserContext:
        context = browser_type.launch_persistent_context(
            tmp_path / "profile",
            **{
                **browser_type_launch_args,
                "args": [
                    *browser_type_launch_args["args"],
                    *camera.flags,
                    *(["--use-fake-ui-for-media-stream"] if allowed else []),
                ],
            },
            **browser_context_args,
            base_url=served.url,
        )
        context.set_default_timeout(30_000)
        if allowed:
            context.grant_permissions(["camera"])
        context.add_init_script(REMEMBERS_STREAMS)
        return context

    handset = Handset(switch_on)

    def phone(*, allow: bool = True, network: bool = True) -> Phone:
        nonlocal allowed
        allowed = allow
        handset.close()
        return handset.switch_on(network=network)

    yield phone
    handset.close()


def test_the_same_picture_again_with_no_network(
    camera_phone: Callable[..., Phone], camera: FakeCamera, served: Served
) -> None:
    before = photos_of(served)
    where = scene_words(served, established(served)["scenes"][0])

    phone = camera_phone()
    phone.sign_in("artist")
    expect(phone.sitting(PERFORMER, LOOK)).to_contain_text(f"to match: established in {where}")
    expect_kept_ahead(phone)
    phone.cut_network()
    phone = camera_phone(network=False)
    page = phone.page

    # Before the chair time begins: what must be matched.
    phone.sitting(PERFORMER, LOOK).click()
    expect(phone.section("To match")).to_contain_text(f"Established in {where}")
    expect_drawn(phone.section("To match").get_by_role("img", name="Established: Front"))

    # The ghost over the live picture, and its strength.
    phone.tap("Take the same picture")
    expect_live(page)
    ghost = page.get_by_test_id("ghost")
    expect_drawn(ghost)
    expect(page.get_by_text(re.compile("^Established, scene"))).to_be_visible()
    page.get_by_label("Ghost").fill("70")
    expect(ghost).to_have_css("opacity", "0.7")
    page.get_by_label("Ghost").fill("0")
    expect(ghost).to_have_css("opacity", "0")

    # The first frame is asked for a card; the angle is ticked, and the next one is up.
    expect(page.get_by_text("hold a grey or colour card")).to_be_visible()
    phone.tap("Shoot with the card")
    expect(page.get_by_role("button", name="Front, shot", exact=True)).to_be_visible()
    expect(angle(page, "Three-quarter left")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_text("2 of 3 left")).to_be_visible()
    expect(page.get_by_role("button", name=re.compile("^Shoot"))).to_be_focused()
    phone.tap("Done")
    expect_soon(lambda: page.evaluate(LIVE_TRACKS), 0)

    # A frame out of focus, and one in the dark, are said so before they are kept.
    camera.see(out_of_focus)
    phone.tap("Take the same picture")
    shoot(page)
    expect(page.get_by_role("alert")).to_contain_text("This frame is blurred")
    expect(page.get_by_role("button", name="Take it again")).to_be_focused()
    phone.tap("Take it again")
    expect(page.get_by_text("2 of 3 left")).to_be_visible()
    shoot(page)
    phone.tap("Keep it anyway")
    expect(page.get_by_text("1 of 3 left")).to_be_visible()
    phone.tap("Done")
    camera.see(in_the_dark)
    phone.tap("Take the same picture")
    shoot(page)
    expect(page.get_by_role("alert")).to_contain_text("This frame is too dark")
    phone.tap("Take it again")
    phone.tap("Done")
    photos = phone.section("Photos").get_by_role("listitem")
    expect(photos).to_have_count(2)

    # Switched off and on again, and sent.
    phone = camera_phone(network=False)
    phone.sitting(PERFORMER, LOOK).click()
    expect(phone.section("Photos").get_by_role("listitem")).to_have_count(2)
    phone.restore_network()
    phone.expect_not_sent(0)
    today = [photo for sha256, photo in photos_of(served).items() if sha256 not in before]
    [front] = [photo for photo in today if photo["angle"] == "front"]
    [left] = [photo for photo in today if photo["angle"] == "three_quarter_left"]
    assert front["card_in_frame"] is True
    assert not front.get("kept_despite")
    assert left["kept_despite"] == ["blurred"]
    assert front["moment"] == left["moment"] == "applied"
    for photo in (front, left):
        expect_soon(partial(size_of, phone.page, photo["sha256"]), SIZE)
        assert not original(phone.page, photo["sha256"]).getexif()


def test_guide_drawn_on_the_established_photo_lies_over_the_camera(
    camera_phone: Callable[..., Phone], served: Served
) -> None:
    before = served.documents("photo_guide")
    phone = camera_phone()
    page = phone.page
    phone.sign_in("artist")
    open_look(phone, f"{SCENE} {CHARACTER}")
    page.get_by_role("link", name="Draw the guide over front", exact=True).click()
    picture = page.get_by_role("button", name=re.compile("^The photo"))
    expect(picture).to_be_visible()
    phone.cut_network()
    box = picture.bounding_box()
    assert box
    # The eye on the right first: they are kept from left to right.
    outline = [(0.6, 0.3), (0.75, 0.3), (0.75, 0.45), (0.6, 0.45)]
    for x, y in [(0.62, 0.42), (0.36, 0.4), *outline]:
        picture.click(position={"x": x * box["width"], "y": y * box["height"]})
    expect(page.get_by_text("4 points round the piece")).to_be_visible()
    phone.tap("Undo")
    expect(page.get_by_text("3 points round the piece")).to_be_visible()
    # And one by key, for those who do not tap.
    picture.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    expect(page.get_by_text("4 points round the piece")).to_be_visible()
    phone.tap("Keep")
    expect(page.get_by_role("link", name="Change the guide over front", exact=True)).to_be_visible()

    phone.go("Today")
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Take the same picture")
    expect_live(page)
    lines = page.locator("dialog.camera svg").filter(has=page.locator("polygon"))
    expect(lines.locator("g.over circle")).to_have_count(2)
    expect(lines.locator("g.over polygon")).to_have_count(1)
    phone.tap("Close the camera")
    phone.restore_network()
    phone.expect_not_sent(0)
    [guide] = [one for key, one in served.documents("photo_guide").items() if key not in before]
    assert [round(eye["x"], 2) for eye in guide["eyes"]] == [0.36, 0.62]
    assert len(guide["outline"]) == 4


@pytest.mark.only_looks
def test_the_camera_stops_when_it_is_not_looked_at(camera_phone: Callable[..., Phone]) -> None:
    phone = camera_phone()
    page = phone.page
    phone.sign_in("artist")
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Take the same picture")
    expect_live(page)
    expect_soon(lambda: page.evaluate(LIVE_TRACKS), 1)
    page.evaluate(HIDE, "hidden")
    expect(page.get_by_text("The camera is off while the app is not looked at")).to_be_visible()
    expect_soon(lambda: page.evaluate(LIVE_TRACKS), 0)
    page.evaluate(HIDE, "visible")
    expect_live(page)
    page.go_back()
    expect(phone.heading("Today")).to_be_visible()
    expect_soon(lambda: page.evaluate(LIVE_TRACKS), 0)


def test_without_leave_the_phones_own_camera_is_used(
    camera_phone: Callable[..., Phone], served: Served, tmp_path: Path
) -> None:
    before = photos_of(served)
    phone = camera_phone(allow=False)
    page = phone.page
    phone.sign_in("artist")
    expect_kept_ahead(phone)
    phone.cut_network()
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Take the same picture")
    expect(page.get_by_role("alert")).to_contain_text("The phone did not allow the camera here")
    # What is to be matched is shown whole, and the first frame is asked for a card here too.
    expect_drawn(page.get_by_test_id("ghost"))
    expect(page.get_by_test_id("ghost")).to_have_css("opacity", "1")
    expect(page.get_by_text("hold a grey or colour card")).to_be_visible()
    page.get_by_label("Own camera, with the card").set_input_files(
        take_photo(tmp_path / "front.jpg", "Front")
    )
    expect(page.get_by_role("button", name="Front, shot", exact=True)).to_be_visible()
    expect(page.get_by_text("hold a grey or colour card")).to_have_count(0)
    page.get_by_label("The phone's own camera").set_input_files(take_photo(tmp_path / "left.jpg", "Left"))
    expect(page.get_by_role("button", name="Three-quarter left, shot", exact=True)).to_be_visible()
    # On set the light is another one.
    page.locator("dialog select").select_option(label="On set")
    expect(page.get_by_text("hold a grey or colour card")).to_be_visible()
    phone.tap("Close the camera")
    phone.restore_network()
    phone.expect_not_sent(0)
    [front] = [
        one for sha256, one in photos_of(served).items() if sha256 not in before and one["angle"] == "front"
    ]
    assert front["card_in_frame"] is True


def test_held_sideways_the_picture_has_the_height_of_the_screen(
    camera_phone: Callable[..., Phone], camera: FakeCamera
) -> None:
    phone = camera_phone()
    page = phone.page
    phone.sign_in("artist")
    phone.sitting(PERFORMER, LOOK).click()
    page.set_viewport_size(SIDEWAYS)
    camera.see(out_of_focus)
    phone.tap("Take the same picture")
    expect_live(page)
    box = page.get_by_label("What the camera sees").bounding_box()
    assert box
    assert box["height"] > 0.9 * SIDEWAYS["height"]
    for button in ("Close the camera", "Without a card", "Shoot with the card"):
        expect(page.get_by_role("button", name=button, exact=True)).to_be_in_viewport(ratio=1)
    phone.tap("Without a card")
    expect(page.get_by_role("alert")).to_contain_text("This frame is blurred")
    expect(page.get_by_role("button", name="Keep it anyway")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_everybody_can_use_it(camera_phone: Callable[..., Phone], camera: FakeCamera, theme: Theme) -> None:
    phone = camera_phone()
    page = phone.page
    page.emulate_media(color_scheme=theme)
    phone.sign_in("artist")
    look_at(page, "Today with something to match")
    phone.go("Match")
    look_at(page, "Match")
    page.get_by_role("searchbox").fill("zebra")
    expect(page.get_by_text("Nothing fits that")).to_be_visible()
    look_at(page, "Match with nothing found")
    open_look(phone, f"{SCENE} {CHARACTER}")
    look_at(page, "A look")
    page.get_by_role("link", name="Draw the guide over front", exact=True).click()
    expect(page.get_by_role("button", name=re.compile("^The photo"))).to_be_visible()
    look_at(page, "Guide")
    phone.go("Today")
    phone.sitting(PERFORMER, LOOK).click()
    expect(phone.section("To match")).to_be_visible()
    look_at(page, "Sheet with something to match")
    camera.see(out_of_focus)
    phone.tap("Take the same picture")
    expect_live(page)
    look_at(page, "Camera")
    phone.tap("Without a card")
    expect(page.get_by_role("alert")).to_contain_text("This frame is blurred")
    look_at(page, "Camera with a blurred frame")


# Shorthand


def established(served: Served) -> Json:
    """The application the look is held to, as the demo has it."""
    [look] = [
        one
        for one in served.documents("look").values()
        if one["name"] == LOOK and plain(one["character"]) == character(served)
    ]
    return served.documents("application")[plain(look["established"])]


def photos_of(served: Served) -> dict[str, Json]:
    """All photos of all sheets, by sha256."""
    sheets = served.documents("application").values()
    return {photo["sha256"]: photo for sheet in sheets for photo in sheet.get("photos", {}).values()}


def character(served: Served) -> str:
    [found] = [key for key, one in served.documents("character").items() if one["name"] == CHARACTER]
    return found


def scene_words(served: Served, scene: str) -> str:
    document = served.documents("scene")[plain(scene)]
    return f"scene {document['number']}, story day {document['story_day']}"


def expect_live(page: Page) -> None:
    seen = page.get_by_label("What the camera sees")
    expect(seen).to_be_visible()
    expect(seen).to_have_js_property("videoWidth", SIZE[0])


def shoot(page: Page) -> None:
    expect_live(page)
    page.get_by_role("button", name=re.compile("^Shoot")).click()


def angle(page: Page, words: str) -> Locator:
    return page.get_by_role("button", name=re.compile(f"^{words}, "))


def size_of(page: Page, sha256: str) -> tuple[int, int]:
    return original(page, sha256).size


def original(page: Page, sha256: str) -> Image.Image:
    """The photo with every pixel, as the server gives it; an empty picture while it is being made."""
    production = page.evaluate("fetch('/api/session').then((answer) => answer.json())")["productions"][0][
        "id"
    ]
    answer = page.request.get(f"/api/productions/{production}/photos/{sha256}/full")
    return Image.open(io.BytesIO(answer.body())) if answer.ok else Image.new("L", (1, 1))
