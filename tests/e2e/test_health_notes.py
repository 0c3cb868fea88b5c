"""What is told of a performer's health stays with those who apply, and the head."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from .phone import NewPhone, Phone
from .pictures import take_photo
from .served import Json, Served, expect_soon

PERFORMER, LOOK = "Tamsin Oakhollow", "Cut brow, fresh"
ALLERGY_NOTE = "Told by herself; no spirit gum."  # of the demo
SKIN_AFTER = "Red along the brow, gone after an hour"
WHY = "Two square millimetres, on the wig lace only"
WARNING = re.compile("Spirit gum: colophony is on the performer's allergy list")


def test_a_health_warning_gone_past_is_written_down_and_not_shown_to_continuity(
    new_phone: NewPhone, served: Served
) -> None:
    known = set(served.documents("application"))
    artist = new_phone("artist")
    artist.sitting(PERFORMER, LOOK).click()
    # Before anything is glued, not only once it has been.
    expect(artist.page.get_by_text(f"Allergies: colophony ({ALLERGY_NOTE})")).to_be_visible()
    artist.tap("Start")
    artist.add_adhesive("Edges", "Spirit gum, lot SG-31")
    artist.go_past_warning(WARNING, WHY)

    def gone_past() -> list[Json]:
        new = [sheet for key, sheet in served.documents("application").items() if key not in known]
        warnings = [one for sheet in new for one in sheet.get("health_overridden", {}).items()]
        return [given for key, given in warnings if key.startswith("adhesive_on_allergy_list:")]

    expect_soon(lambda: [given.get("why") for given in gone_past()], [WHY])
    assert WARNING.search(gone_past()[0]["words"])
    assert gone_past()[0]["at"]

    continuity = new_phone("continuity")
    continuity.sitting(PERFORMER, LOOK).click()
    expect(continuity.section("Adhesive and edge")).to_contain_text("Spirit gum")
    expect(continuity.page.get_by_text(re.compile("allerg", re.IGNORECASE))).to_have_count(0)
    assert WHY in str(artist.everything_kept())
    assert WHY not in str(continuity.everything_kept())
    assert "health_overridden" not in str(continuity.everything_kept())


def test_what_is_not_sent_yet_of_bare_skin_is_not_shown_to_who_signs_in_next(
    new_phone: NewPhone, tmp_path: Path
) -> None:
    phone = new_phone("artist")
    phone.cut_network()
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Start")
    phone.add_photos("Applied", {"Front": take_photo(tmp_path / "front.jpg", "Made up")})
    for step in ("Ready", "On camera", "Removed"):
        phone.tap(step)
    phone.write("The skin after", SKIN_AFTER)
    phone.add_photos("Removed", {"Close-up": take_photo(tmp_path / "skin.jpg", "Bare skin")})
    expect(phone.section("Photos").get_by_role("listitem")).to_have_count(2)
    address = phone.page.evaluate("location.hash")
    phone.go_unsent()
    phone.tap("Sign out…")
    phone.panel("Sign out?").get_by_role("button", name="Sign out").click()
    expect(phone.page.get_by_label("User name")).to_be_visible()

    phone.restore_network()
    phone.sign_in("continuity")
    phone.page.evaluate("address => { location.hash = address; }", address)
    photos = phone.section("Photos").get_by_role("listitem")
    expect(photos).to_have_count(1)
    expect(photos).to_contain_text("Applied")
    expect(phone.section("Removal")).to_be_visible()
    expect(phone.page.get_by_text(SKIN_AFTER)).to_have_count(0)


@pytest.mark.only_looks
@pytest.mark.parametrize(
    ("username", "sees"), [("artist", True), ("head", True), ("continuity", False), ("shop", False)]
)
def test_who_sees_allergies_and_patch_tests(new_phone: NewPhone, username: str, sees: bool) -> None:
    phone = new_phone(username)
    opens_performer(phone)
    seen = 1 if sees else 0
    expect(phone.page.get_by_role("button", name="Add an allergy")).to_have_count(seen)
    expect(phone.page.get_by_role("button", name="Add a patch test")).to_have_count(seen)
    assert (ALLERGY_NOTE in str(phone.everything_kept())) is sees


def opens_performer(phone: Phone) -> None:
    phone.go("Set-up")
    phone.page.get_by_role("link", name="Performers").click()
    phone.page.get_by_role("link", name=re.compile(f"^{PERFORMER}")).click()
    expect(phone.heading(PERFORMER)).to_be_visible()
    expect(phone.page.get_by_label("Name", exact=True)).to_have_value(PERFORMER)
