"""What has to be matched next is sharp without a network, though nobody has looked at it on this phone."""

from __future__ import annotations

from uuid import UUID

import pytest
from playwright.sync_api import expect

from .phone import NewPhone
from .served import Served, expect_soon, plain

LOOK = "Cut brow, day 3"

LARGE_KEPT = """
async (sha256s) => {
  const opened = indexedDB.open("continuity");
  const store = await new Promise((done) => (opened.onsuccess = () => done(opened.result)));
  const asked = store.transaction("larges").objectStore("larges").getAllKeys();
  const keys = await new Promise((done) => (asked.onsuccess = () => done(asked.result)));
  store.close();
  return sha256s.filter((sha256) => keys.some(([, kept]) => kept === sha256)).length;
}
"""


@pytest.mark.only_looks
def test_the_established_photos_of_the_coming_days_are_large_without_a_network(
    new_phone: NewPhone, served: Served
) -> None:
    [(look, document)] = [
        (identifier, look) for identifier, look in served.documents("look").items() if look["name"] == LOOK
    ]
    photos = served.documents("application")[plain(document["established"])]["photos"].values()
    shown = {photo["angle"]: photo["sha256"] for photo in photos if photo["moment"] == "applied"}
    front, close_up = shown["front"], shown["close_up"]
    phone = new_phone("artist")
    expect_soon(lambda: phone.page.evaluate(LARGE_KEPT, [front, close_up]), 2)
    phone.cut_network()
    phone.page.goto(f"/#/match/{UUID(look)}/compare?then={front}&now={close_up}")
    expect(phone.page.locator(".stage .light canvas")).to_have_count(2)
    expect(phone.page.get_by_role("button", name="Nearer")).to_be_visible()
    expect(phone.page.get_by_text("small picture")).to_have_count(0)
