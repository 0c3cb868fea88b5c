"""What a push message shows, and where a tap on it leads."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import CDPSession, expect

from .phone import NewPhone, Phone
from .served import Served, expect_soon

SHOWN = """
async () => {
  const registration = await navigator.serviceWorker.ready;
  const notices = await registration.getNotifications();
  return notices.map(({ title, body, tag, data }) => ({ title, body, tag, address: data.address }));
}
"""


def push(phone: Phone, told: str) -> None:
    """Hands a message to the app's service worker, as the browser does once it has decrypted one."""
    session: CDPSession = phone.context.new_cdp_session(phone.page)
    found: list[str] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: found.extend(one["registrationId"] for one in event["registrations"]),
    )
    session.send("ServiceWorker.enable")
    phone.page.wait_for_function("navigator.serviceWorker.controller !== null")
    while not found:
        phone.page.wait_for_timeout(50)
    origin = phone.page.evaluate("location.origin")
    session.send(
        "ServiceWorker.deliverPushMessage", {"origin": origin, "registrationId": found[0], "data": told}
    )


@pytest.mark.only_looks
def test_a_push_message_is_shown_and_names_its_order(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("shop")
    phone.context.grant_permissions(["notifications"], origin=served.url)
    order = "019ac1d2-0000-7000-8000-00000000000a"
    told = {
        "title": "Asked for: 6 copies of Cut brow, left",
        "words": "Needed on Friday 4 December 2026.",
        "order": order,
        "address": f"#/shop/{order}",
    }

    def shown() -> list[dict[str, str]]:
        notices: list[dict[str, str]] = phone.page.evaluate(SHOWN)
        return sorted(notices, key=lambda notice: notice["title"])

    def notice(title: str) -> dict[str, str]:
        return {"title": title, "body": told["words"], "tag": order, "address": told["address"]}

    push(phone, json.dumps(told))
    expect_soon(shown, [notice(told["title"])])
    # Of one order the newest is shown alone; what cannot be read shows something, and leads to the shop.
    taken_on = "Taken on: 6 copies of Cut brow, left"
    push(phone, json.dumps({**told, "title": taken_on}))
    expect_soon(shown, [notice(taken_on)])
    push(phone, "not ours")
    expect_soon(
        lambda: [(one["title"], one["address"]) for one in shown()],
        [("An order has changed", "#/shop"), (taken_on, told["address"])],
    )


@pytest.mark.only_looks
def test_permission_is_asked_by_the_button_only(new_phone: NewPhone) -> None:
    phone = new_phone("shop")
    phone.page.add_init_script(
        "window.asked = 0;"
        "Notification.requestPermission = async () => { window.asked += 1; return 'denied'; };"
    )
    phone.reload()
    phone.go("Shop")
    phone.page.get_by_role("link", name=re.compile("^Where orders go")).click()
    expect(phone.page.get_by_text("It is told of orders only while the app is open.")).to_be_visible()
    assert phone.page.evaluate("window.asked") == 0
    phone.tap("Tell this phone")
    expect(phone.page.get_by_text("Notices are not allowed here.")).to_be_visible()
    assert phone.page.evaluate("window.asked") == 1
