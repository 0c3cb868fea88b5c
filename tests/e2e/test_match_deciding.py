"""What is said of an application on the compare screen: established, or a match; by one and by two."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from .phone import NewPhone
from .served import Served, expect_soon, plain
from .test_match_compare import Compare, Json, str_id


@pytest.fixture
def compare(new_phone: NewPhone, served: Served) -> Compare:
    return Compare(new_phone("continuity"), served)


def test_established_with_a_reason_when_it_changes(compare: Compare, served: Served) -> None:
    phone, page = compare.phone, compare.page

    def look() -> Json:
        document: Json = served.documents("look")[compare.look]
        return document

    phone.tap("Establish this application")
    phone.panel("Establish this application?").get_by_role("button", name="Establish").click()
    phone.expect_not_sent(0)
    expect_soon(lambda: "established" in look(), True)
    first = look()["established"]
    expect(page.get_by_text("this look is held to this application")).to_be_visible()

    # The other photo's application is another one.
    page.goto(f"/#/match/{str_id(compare.look)}/compare?now={other_photo(served, compare.look, first)}")
    phone.tap("Establish this one instead…")
    panel = phone.panel("Establish this application?")
    expect(panel.get_by_role("button", name="Establish", exact=True)).to_be_disabled()
    panel.get_by_role("button", name="The look was changed").click()
    panel.get_by_role("button", name="Establish", exact=True).click()
    phone.expect_not_sent(0)
    expect_soon(lambda: look()["established"] != first, True)
    assert look()["established_reason"] == "The look was changed"
    page.get_by_role("button", name="Undo", exact=True).click()
    phone.expect_not_sent(0)
    expect_soon(lambda: look()["established"], first)


def other_photo(served: Served, look: str, application: str) -> str:
    """A photo of the make-up of this look on another application."""
    for identifier, sheet in served.documents("application").items():
        if plain(sheet["look"]) == look and identifier != plain(application):
            for photo in sheet.get("photos", {}).values():
                if photo["moment"] == "applied":
                    return str(photo["sha256"])
    raise AssertionError("The demo has one application of this look only")


def test_the_only_photo_of_a_look_is_shown_and_its_application_established(
    new_phone: NewPhone, served: Served
) -> None:
    """The first application on camera: there is nothing to compare it with, and it has to be established."""
    [look] = [key for key, one in served.documents("look").items() if one["name"] == "Burned cheek, fresh"]
    phone = new_phone("continuity")
    page = phone.page
    page.goto(f"/#/match/{str_id(look)}")
    expect(page.get_by_text("Not established yet")).to_be_visible()
    expect(page.get_by_role("link", name="Compare", exact=True)).to_have_count(0)
    page.get_by_role("link", name=re.compile("^Last")).click()
    expect(page.get_by_text("The only photo of this look")).to_be_visible()
    only = page.get_by_role("group", name=re.compile("^The only photo so far, zoom"))
    expect(only.get_by_role("img")).to_have_count(1)
    expect(only.get_by_role("img").locator("canvas")).to_be_visible()
    only.focus()
    page.keyboard.press("+")
    expect(only).to_have_attribute("aria-label", re.compile("zoom 1.3 times"))
    phone.tap("Establish this application")
    phone.panel("Establish this application?").get_by_role("button", name="Establish").click()
    expect(page.get_by_text("this look is held to this application")).to_be_visible()
    expect_soon(lambda: "established" in served.documents("look")[look], True)
    page.get_by_role("link", name="Back to the look").click()
    expect(page.get_by_role("region", name="What it is held to")).to_contain_text("Established in")


def test_two_people_decide_at_once(new_phone: NewPhone, served: Served) -> None:
    """Each with no network: both verdicts are told, the later one counts, and of two established applications
    one stands and the other can be taken, under the names they have on set."""
    first = Compare(new_phone("continuity"), served)
    second = Compare(new_phone("head"), served)
    for compare in (first, second):
        compare.phone.cut_network()
    application = now_of(first, served)
    other = other_photo(served, first.look, application)
    first.phone.tap("Matches")
    establish(first)
    second.does_not_match((0.62, 0.36), "Too red")
    second.page.goto(f"/#/match/{str_id(second.look)}/compare?now={other}")
    establish(second)
    first.phone.restore_network()
    first.phone.expect_not_sent(0)
    second.phone.restore_network()
    second.phone.expect_not_sent(0)

    for compare in (first, second):
        compare.page.goto(f"/#/sheet/{application}")
        told = compare.page.locator(".notice").filter(has_text="Does not match")
        expect(told).to_contain_text("Before it, Callum Threave said: matches")

    second.phone.go_unsent()
    conflict = second.page.get_by_role("article").filter(has_text="Two people changed the same thing")
    expect(conflict).to_contain_text(re.compile(r"Kept: Application: \w+ \w+, Maren Sedge: Cut brow, fresh"))
    conflict.get_by_role("button", name="Take the other").click()
    second.phone.expect_not_sent(0)
    taken = sheet_of(served, other)
    expect_soon(lambda: plain(served.documents("look")[first.look]["established"]), taken)


def establish(compare: Compare) -> None:
    compare.phone.tap("Establish this application")
    compare.phone.panel("Establish this application?").get_by_role("button", name="Establish").click()
    expect(compare.page.get_by_text("this look is held to this application")).to_be_visible()


def now_of(compare: Compare, served: Served) -> str:
    """The application whose photo is compared."""
    [sha256] = re.findall(r"now=([0-9a-f]{64})", compare.page.url)
    return str_id(sheet_of(served, sha256))


def sheet_of(served: Served, sha256: str) -> str:
    [found] = [
        key
        for key, sheet in served.documents("application").items()
        if sha256 in {photo["sha256"] for photo in sheet.get("photos", {}).values()}
    ]
    return found
