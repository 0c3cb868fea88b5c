"""Finding the photos of a look, and its neighbours in the story, with no network."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, expect

from .phone import NewPhone, Phone
from .served import Served, expect_soon, plain

PERFORMER, CHARACTER, LOOK, SCENE = "Tamsin Oakhollow", "Maren Sedge", "Cut brow, day 1", "22"


@pytest.mark.only_looks
def test_found_by_scene_story_day_person_and_serial_with_no_network(
    new_phone: NewPhone, served: Served
) -> None:
    phone = new_phone("continuity")
    page = phone.page
    expect_kept_ahead(phone)
    phone.cut_network()
    scenes = served.documents("scene")
    [(maren, _)] = [
        (key, one) for key, one in served.documents("character").items() if one["name"] == CHARACTER
    ]
    worn_by_maren = [
        scene
        for scene in scenes.values()
        if any(plain(worn["character"]) == maren and worn.get("look") for worn in scene.get("worn", []))
    ]
    in_story_order = [
        scene["number"]
        for scene in sorted(worn_by_maren, key=lambda scene: (scene["story_day"], scene["position"]))
    ]

    # By story day: every scene of hers on it, in story order.
    phone.go("Match")
    day = next(scene["story_day"] for scene in worn_by_maren if scene["number"] == SCENE)
    page.get_by_role("searchbox").fill(f"story day {day} maren")
    of_that_day = [one["number"] for one in worn_by_maren if one["story_day"] == day]
    expected = [number for number in in_story_order if number in of_that_day]
    shown = page.get_by_role("link").filter(has=page.locator(".tag")).locator(".tag")
    expect(shown.first).to_contain_text(expected[0])

    def numbers() -> list[str]:
        return list(dict.fromkeys(words.split()[-1] for words in shown.all_inner_texts()))

    expect_soon(numbers, expected)

    # By scene and person; then its neighbours in the story, one tap each.
    open_look(phone, f"scene {SCENE} maren")
    at = in_story_order.index(SCENE)
    story = page.get_by_role("navigation", name="In the story")
    before = story.get_by_role("link").filter(has_text="Before, in the story")
    expect(before).to_contain_text(in_story_order[at - 1])
    after = story.get_by_role("link").filter(has_text="After, in the story")
    expect(after).to_contain_text(in_story_order[at + 1])
    before.click()
    expect(story.get_by_role("link").filter(has_text="After, in the story")).to_contain_text(SCENE)
    expect_drawn(page.get_by_role("img").first)

    # By a copy's serial: the look it was put on for, and that very application.
    copies = {key: one["serial"] for key, one in served.documents("copy").items()}
    sheet = next(
        one
        for one in served.documents("application").values()
        if one["performer"] and one.get("photos") and one.get("copies") and one.get("scenes")
    )
    serial = copies[plain(next(iter(sheet["copies"].values()))["copy_used"])]
    open_look(phone, serial)
    look = served.documents("look")[plain(sheet["look"])]["name"]
    expect(page.get_by_role("heading", level=1)).to_contain_text(look)
    expect(page.get_by_text("This application:")).to_be_visible()

    # By a performer's chip.
    phone.go("Match")
    page.get_by_role("button", name="Idris Penmarrow", exact=True).click()
    lines = page.get_by_role("link").filter(has=page.locator(".tag"))
    expect(lines.filter(has_not_text="Idris Penmarrow")).to_have_count(0)
    expect(lines.first).to_be_visible()


@pytest.mark.only_looks
def test_the_way_back_from_a_look_leads_to_what_was_looked_for(new_phone: NewPhone) -> None:
    phone = new_phone("continuity")
    page = phone.page
    phone.go("Match")
    page.get_by_role("searchbox").fill("brow")
    page.get_by_role("button", name=PERFORMER).click()
    page.get_by_role("link", name=re.compile(LOOK)).first.click()
    expect(page.get_by_role("heading", name=re.compile(LOOK))).to_be_visible()
    page.get_by_role("link", name="Compare", exact=True).first.click()
    page.get_by_role("link", name="Back to the look").click()
    page.get_by_role("main").get_by_role("link", name="Match", exact=True).click()
    expect(page.get_by_role("searchbox")).to_have_value("brow")
    expect(page.get_by_role("button", name=PERFORMER)).to_have_attribute("aria-pressed", "true")
    # Match at the foot begins anew.
    phone.go("Today")
    phone.go("Match")
    expect(page.get_by_role("searchbox")).to_have_value("")


@pytest.mark.only_looks
def test_the_scene_before_is_one_tap_from_the_sheet(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("artist")
    phone.sitting(PERFORMER, LOOK).click()
    phone.page.get_by_role("link", name=re.compile("^The scene before:")).click()
    story = phone.page.get_by_role("navigation", name="In the story")
    expect(story.get_by_role("link").filter(has_text="After, in the story")).to_contain_text(SCENE)


@pytest.mark.only_looks
def test_photos_kept_on_the_phone_are_said_with_their_budget(new_phone: NewPhone) -> None:
    phone = new_phone("artist")
    expect_kept_ahead(phone)
    phone.go_unsent()
    expect(
        phone.page.get_by_text(
            re.compile(r"small photos to look at without a network: \S+ MB of at most 60 MB")
        )
    ).to_be_visible()
    expect(phone.page.get_by_text(re.compile(r"about [\d.]+ (GB|MB) free"))).to_be_visible()


# Shorthand


def open_look(phone: Phone, words: str) -> None:
    phone.go("Match")
    phone.page.get_by_role("searchbox").fill(words)
    expect(phone.heading("Found")).to_be_visible()
    phone.page.get_by_role("link").filter(has=phone.page.locator(".tag")).first.click()
    expect(phone.heading("Angles")).to_be_visible()


def expect_kept_ahead(phone: Phone) -> None:
    """All photos of the demo that show a look are fetched without being looked at."""

    def missing() -> int:
        kept = phone.everything_kept()
        sheets = [row["document"] for row in kept["records"] if row["kind"] == "application"]
        photos = {photo["sha256"] for sheet in sheets for photo in sheet.get("photos", {}).values()}
        return len(photos - {row["sha256"] for row in kept["thumbs"]})

    expect_soon(missing, 0)


def expect_drawn(picture: Locator) -> None:
    expect(picture).to_be_visible()
    picture.evaluate("async (image) => { await image.decode(); }")
    assert picture.evaluate("(image) => image.naturalWidth") > 0
