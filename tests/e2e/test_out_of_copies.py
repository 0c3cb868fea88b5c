"""The last copy is spoiled in the chair, and one that nobody listed turns up in the box."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from .phone import NewPhone

PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"
FOUND = "FOUND-1"


def test_out_of_copies_without_a_network(new_phone: NewPhone) -> None:
    artist = new_phone("artist")
    artist.go("Cover")
    expect(artist.page.get_by_role("link", name=re.compile(rf"^{APPLIANCE}, \d+ spares?,"))).to_be_visible()
    artist.go("Today")
    artist.cut_network()
    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Start")
    copies = artist.section("Copies")
    tags = copies.locator(".tag")
    expect(tags).to_have_count(1)
    bare = copies.get_by_text(f"No {APPLIANCE} is on: each copy taken was spoiled or lost.")
    artist.expect_not_sent(1)
    words = copies.get_by_text(re.compile(rf"{APPLIANCE}: \d+ on set")).inner_text()
    [left] = re.findall(r": (\d+) on set", words)
    for spoiled in range(1, int(left) + 1):
        expect(bare).to_be_hidden()
        artist.spoil_copy(tags.last.inner_text(), "Edge torn")
        expect(tags).to_have_count(spoiled + 1)
    expect(copies.get_by_text(f"{APPLIANCE}: 0 on set")).to_be_visible()
    expect(bare).to_be_hidden()
    artist.spoil_copy(tags.last.inner_text(), "Edge torn")
    expect(bare).to_be_visible()

    artist.tap("Take another copy")
    panel = artist.panel("Which copy?")
    expect(panel).to_contain_text("None on set.")
    panel.get_by_role("link", name="In hand, but not listed: add the copy").click()
    expect(artist.page.get_by_role("radio", name="On set")).to_be_checked()
    artist.page.get_by_label("Serial", exact=True).fill(FOUND)
    artist.tap("Save the copy")
    # Back on the sheet.
    expect(artist.heading(PERFORMER)).to_be_visible()
    expect(copies.get_by_text(f"{APPLIANCE}: 1 on set")).to_be_visible()
    artist.go("Today")
    artist.expect_spares_on_today(PERFORMER, LOOK, 1)
    artist.go("Cover")
    artist.expect_spares_on_cover(APPLIANCE, 1)
    artist.go("Today")
    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Take another copy")
    artist.panel("Which copy?").get_by_role("button", name=re.compile(FOUND)).click()
    expect(bare).to_be_hidden()
    expect(tags.last).to_have_text(FOUND)
