"""Copies on their way: one open parcel a copy, and what a parcel does to its order."""

from __future__ import annotations

from typing import Any

import pytest

from continuity.cover.watch import look_once
from continuity.shop.models import ParcelCopy
from tests.at_once import at_once
from tests.builders import HAPPENED_AT, new_id
from tests.shop.season import Season

Json = dict[str, Any]
SENT = {"sent_at": HAPPENED_AT, "by": "Courier", "expected_on": "2026-11-27"}


def parcel(season: Season, *copies: str, order: str | None = None, role: str = "shop", **more: Any) -> Json:
    document: Json = {"copies": {copy: {} for copy in copies}, "packed_on": "2026-11-25", **more}
    if order:
        document["order"] = order
    return season.show.phone(role).entry("parcel", document)


@pytest.fixture
def ordered(season: Season) -> tuple[Season, str]:
    """Three copies ordered by hand, and the shop is at it."""
    season.show.head.send_ok(season.by_hand(copies=3))
    season.write(season.order(), {"state": "taken_on"})
    season.write(season.order(), {"state": "casting"})
    return season, season.order()["id"]


def _state(season: Season) -> str:
    return str(season.order()["document"]["state"])


def test_all_sent_is_sent_and_all_received_has_arrived(ordered: tuple[Season, str]) -> None:
    season, order = ordered
    first, second, third = season.add_copies(3, state="shop")
    shop, artist = season.show.shop, season.show.set_artist
    one, other = parcel(season, first, second, order=order), parcel(season, third, order=order, **SENT)
    shop.send_ok(one)
    assert _state(season) == "casting"
    shop.send_ok(other)
    assert _state(season) == "casting"
    shop.send_ok(sent := shop.edit(one, SENT))
    assert _state(season) == "sent"
    assert season.order()["made_by"] == shop.crew
    found = {first: {"arrived": "arrived"}, second: {"arrived": "damaged", "note": "Torn edge"}}
    artist.send_ok(artist.edit(sent, {"copies": found, "received_at": HAPPENED_AT}))
    assert _state(season) == "sent"
    missing = {third: {"arrived": "missing"}}
    artist.send_ok(artist.edit(other, {"copies": missing, "received_at": HAPPENED_AT}))
    assert _state(season) == "arrived"
    assert season.order()["made_by"] == artist.crew
    told = ParcelCopy.objects.values_list("copy__id", "arrived", "on_its_way")
    assert {str(copy): (arrived, on_its_way) for copy, arrived, on_its_way in told} == {
        first: ("arrived", False), second: ("damaged", False), third: ("missing", False),
    }  # fmt: skip


def test_what_is_of_a_lower_grade_does_not_fill_an_order(season: Season) -> None:
    season.show.head.send_ok(season.by_hand(copies=2, grade="mid"))
    season.write(season.order(), {"state": "taken_on"})
    order = season.order()["id"]
    shop = season.show.shop
    [first] = season.add_copies(1, state="shop")
    low = shop.entry(
        "copy",
        {"appliance": season.show.appliance, "serial": "L1", "grade": "background", "state": "shop"},
    )
    shop.send_ok(low)
    shop.send_ok(parcel(season, first, low["record"], order=order, **SENT))
    assert _state(season) == "taken_on"
    [second] = season.add_copies(1, state="shop")
    shop.send_ok(parcel(season, second, order=order, **SENT))
    assert _state(season) == "sent"


def test_an_order_called_sent_by_the_shop_arrives_with_what_there_is(ordered: tuple[Season, str]) -> None:
    season, order = ordered
    (copy,) = season.add_copies(1, state="shop")
    season.show.shop.send_ok(sent := parcel(season, copy, order=order, **SENT))
    assert _state(season) == "casting"
    season.write(season.order(), {"state": "sent"})
    artist = season.show.set_artist
    artist.send_ok(artist.edit(sent, {"received_at": HAPPENED_AT}))
    assert _state(season) == "arrived"


def test_a_phone_that_says_the_same_beside_it_is_no_conflict(ordered: tuple[Season, str]) -> None:
    season, order = ordered
    copies = season.add_copies(3, state="shop")
    seen = season.order()
    season.show.shop.send_ok(parcel(season, *copies, order=order, **SENT))
    assert season.write(seen, {"state": "sent"})["result"] == "stored"
    assert season.show.head.conflicts() == []
    assert _state(season) == "sent"


def test_a_note_on_a_parcel_moves_nothing(ordered: tuple[Season, str]) -> None:
    season, order = ordered
    copies = season.add_copies(3, state="shop")
    season.show.shop.send_ok(sent := parcel(season, *copies, order=order, **SENT))
    season.write(season.order(), {"state": "casting"})
    season.show.shop.send_ok(season.show.shop.edit(sent, {"note": "On the back seat"}))
    assert _state(season) == "casting"


def test_a_parcel_of_an_order_that_is_called_off_moves_nothing(ordered: tuple[Season, str]) -> None:
    season, order = ordered
    season.write(season.order(), {"state": "called_off"}, "department_head")
    copies = season.add_copies(3, state="shop")
    season.show.shop.send_ok(parcel(season, *copies, order=order, **SENT))
    assert _state(season) == "called_off"


def test_sending_ends_a_question(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    season.write(season.order(), {"state": "taken_on"})
    season.shoot(13, 14)
    look_once()
    order = season.order()
    assert "question" in order["document"]
    copies = season.add_copies(order["document"]["copies"], state="shop", expected_on=season.date(3))
    season.show.shop.send_ok(parcel(season, *copies, order=order["id"], **SENT))
    after = next(each for each in season.orders() if each["id"] == order["id"])["document"]
    assert (after["state"], "question" in after) == ("sent", False)


def test_a_copy_is_in_one_open_parcel(season: Season) -> None:
    first, second = season.add_copies(2, state="shop")
    shop = season.show.shop
    shop.send_ok(one := parcel(season, first))
    result = shop.send(other := parcel(season, second, first))[0]
    assert (result["result"], result["code"]) == ("refused", "in_another_parcel")
    assert result["field"] == f"copies.{first}"
    shop.send_ok(shop.edit(one, {"copies": {first: None}}))
    assert shop.send(other)[0]["result"] == "stored"
    shop.send_ok(shop.edit(other, {}, withdrawn="Packed anew"))
    shop.send_ok(parcel(season, first, second))


def test_what_is_received_can_be_sent_back(season: Season) -> None:
    (copy,) = season.add_copies(1, state="shop")
    shop = season.show.shop
    shop.send_ok(sent := parcel(season, copy, **SENT), shop.edit(sent, {"received_at": HAPPENED_AT}))
    shop.send_ok(parcel(season, copy))


def test_copies_and_their_parcel_in_one_push(season: Season) -> None:
    shop = season.show.shop
    copy = shop.entry("copy", {"appliance": season.show.appliance, "serial": "P1", "grade": "hero"})
    shop.send_ok(copy, parcel(season, copy["record"]))


@pytest.mark.django_db(transaction=True)
def test_two_parcels_at_the_same_moment(season: Season) -> None:
    (copy,) = season.add_copies(1, state="shop")
    entries = [parcel(season, copy, role=role) for role in ("shop", "department_head")]
    answers = at_once(
        lambda: season.show.shop.send(entries[0])[0], lambda: season.show.head.send(entries[1])[0]
    )
    assert sorted(str(answer.get("code") or answer["result"]) for answer in answers) == [
        "in_another_parcel",
        "stored",
    ]


@pytest.mark.parametrize(
    "change",
    [
        {"copies": {"not-an-id": {}}},
        {"copies": {new_id(): {}}},
        {"copies": [new_id()]},
        {"order": new_id()},
        {"order": "x"},
        {"packed_on": "tomorrow"},
        {"packed_on": None},
        {"sent_at": "2026-11-25T10:00:00"},
        {"received_at": 7},
        {"expected_on": "2026-02-30"},
        {"by": "x" * 501},
        {"surprise": 1},
    ],
)
def test_what_is_no_parcel(season: Season, change: Json) -> None:
    (copy,) = season.add_copies(1, state="shop")
    entry = parcel(season, copy)
    entry["patch"] = {
        name: value for name, value in {**entry["patch"], **change}.items() if value is not None
    }
    result = season.show.shop.send(entry)[0]
    assert (result["result"], result["code"] in {"not_a_document", "unknown_reference"}) == ("refused", True)
    assert ParcelCopy.objects.count() == 0


@pytest.mark.parametrize("arrived", ["eaten", "", 7, True])
def test_what_is_not_said_of_a_copy(season: Season, arrived: Any) -> None:
    (copy,) = season.add_copies(1, state="shop")
    entry = parcel(season)
    entry["patch"]["copies"] = {copy: {"arrived": arrived}}
    assert season.show.shop.send(entry)[0]["code"] == "not_a_document"


def test_a_parcel_and_what_is_in_it_are_shown_in_the_admin(season: Season) -> None:
    (copy,) = season.add_copies(1, state="shop", serial="BR-0041")
    season.show.shop.send_ok(sent := parcel(season, copy))
    account = season.show.head.account
    assert account.get("/admin/shop/parcel/?q=BR-0041").status == 200
    page = account.get(f"/admin/shop/parcel/{sent['record']}/change/")
    assert page.status == 200
    assert b"BR-0041" in page.content
