"""Each change of an order is dated, and says by whom."""

from __future__ import annotations

from typing import Any

from continuity.cover.watch import look_once
from tests.builders import HAPPENED_AT, Phone, make_show, new_id
from tests.shop.season import Season

Json = dict[str, Any]
WHAT = ("state", "copies", "asked", "answer")


def _history(phone: Phone, order: str) -> list[Json]:
    answer = phone.account.get(phone.path(f"orders/{order}/history"))
    assert answer.status == 200, answer.body
    assert answer.body["answer"] == "order_history"
    changes: list[Json] = answer.body["changes"]
    return changes


def _said(changes: list[Json]) -> list[Json]:
    return [{name: change[name] for name in WHAT if change[name] is not None} for change in changes]


def test_by_hand_from_asked_for_to_sent(season: Season) -> None:
    head, shop = season.show.head, season.show.shop
    head.send_ok(season.by_hand(copies=2))
    order = season.order()["id"]
    season.write(season.order(), {"note": "Ring first"})
    season.write(season.order(), {"state": "taken_on"})
    season.write(season.order(), {"state": "casting"})
    copies = season.add_copies(2, state="shop")
    packed = {"copies": {copy: {} for copy in copies}, "packed_on": "2026-11-25"}
    shop.send_ok(shop.entry("parcel", {**packed, "order": order, "sent_at": HAPPENED_AT}))
    changes = _history(shop, order)
    assert _said(changes) == [
        {"state": "asked_for", "copies": 2}, {"state": "taken_on"}, {"state": "casting"}, {"state": "sent"},
    ]  # fmt: skip
    # The note is no change of the order. What the parcel did is said by who sent it.
    assert changes[0]["by"] == head.crew
    assert changes[3]["by"] == shop.crew
    assert changes[0]["at"].startswith(HAPPENED_AT[:19])


def test_the_cover_s_own_and_the_shop_s_answer(season: Season) -> None:
    season.shoot(20, 22, 24)
    look_once()
    order = season.order()
    season.write(order, {"state": "taken_on"})
    season.shoot(26, 27, 28, 29)
    look_once()
    asked = season.order()["document"]["question"]
    season.write(season.order(), {"answer": "agreed"})
    changes = _history(season.show.shop, order["id"])
    raised, *_, question, answered, agreed = changes
    assert raised["by"] is None
    assert raised["state"] == "asked_for"
    assert (question["by"], question["asked"]) == (None, asked["copies"])
    assert (answered["answer"], answered["by"] is None) == ("agreed", False)
    assert (agreed["copies"], agreed["by"]) == (asked["copies"], answered["by"])


def test_of_another_production_there_is_none(season: Season) -> None:
    season.show.head.send_ok(season.by_hand())
    order = season.order()["id"]
    other = make_show("Theirs").head
    for asked in (order, new_id()):
        answer = other.account.get(other.path(f"orders/{asked}/history"))
        assert (answer.status, answer.body["code"]) == (404, "not_found")
