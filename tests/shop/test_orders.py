"""Orders appear by themselves, follow the cover while nobody has taken them on, and are never doubled."""

from __future__ import annotations

import datetime
import io
from typing import Any

import pytest
from django.core.management import call_command

from continuity.cover.services import reconsider_orders, to_be_reconsidered
from continuity.cover.watch import look_once
from continuity.schedule.models import Production
from continuity.sync.models import Entry
from tests.builders import ROLES, assert_feed_is_whole
from tests.shop.season import Season, make_season, question

Json = dict[str, Any]


def _state(season: Season, order: Json, state: str, role: str = "shop", **more: Any) -> Json:
    """A phone of that role says where an order stands; the result."""
    phone = season.show.phone(role)
    patch = {"state": state, **more.pop("patch", {})}
    entry = phone.entry("order", patch, order["id"], order["revision"], seen=order["seq"], **more)
    return phone.send(entry)[0]


def _one(season: Season) -> Json:
    (order,) = season.orders()
    return order


def test_an_order_appears_by_itself_after_an_application(season: Season) -> None:
    season.shoot(10)
    look_once()
    assert season.orders() == []
    # Three copies for one: the first two are spoiled, so that one is left and the log speaks against it.
    season.log((season.show.copies[0], "spoiled"), (season.show.copies[1], "spoiled"))
    look_once()
    order = _one(season)["document"]
    assert (order["appliance"], order["mould"]) == (season.show.appliance, season.show.mould)
    assert order["state"] == "asked_for"
    assert order["needed_on"] == season.date(10)
    # One copy left and Beta(9, 1) with two spoiled ones: it lasts with 9 / 12.
    assert order["p_covered_now"] == 0.75
    assert order["possible"]
    assert order["best_p_covered"] >= 0.98
    assert order["copies"] >= 1
    assert order["pours"] >= order["copies"]
    assert season.date(0) <= order["latest_start"] <= season.date(9)
    assert (order["raised_by"], order["grade"]) == ("cover", "hero")
    day = season.today + datetime.timedelta(days=10)
    assert order["why"].startswith(f"Covers 1 planned application up to {day.day} {day:%B %Y} at 98 %; ")
    assert "1 spare for 1 copy needed" in order["why"]
    assert "0 good, 2 spoiled and 0 lost on set" in order["why"]
    cover = season.cover()
    assert cover["order"] == _one(season)["id"]
    assert {name: cover["reorder"][name] for name in ("copies", "pours", "latest_start")} == {
        name: order[name] for name in ("copies", "pours", "latest_start")
    }
    assert sum(day["pours"] for day in cover["reorder"]["schedule"]) == order["pours"]
    assert_feed_is_whole(season.show)


def test_every_role_sees_the_order(season: Season) -> None:
    season.shoot(3, 4, 5)
    look_once()
    for role in ROLES:
        assert len(season.orders(season.show.phone(role))) == 1


def test_it_grows_and_shrinks_and_is_called_off(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    first = _one(season)
    season.shoot(13, 14)
    look_once()
    grown = _one(season)
    assert grown["id"] == first["id"]
    assert grown["document"]["copies"] > first["document"]["copies"]
    season.add_copies(2)
    look_once()
    shrunk = _one(season)
    assert shrunk["document"]["copies"] < grown["document"]["copies"]
    season.add_copies(6)
    look_once()
    gone = _one(season)
    assert (gone["id"], gone["document"]["state"]) == (first["id"], "called_off")
    assert season.cover()["order"] is None
    assert_feed_is_whole(season.show)


def test_a_need_that_comes_back_is_a_new_order(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    season.cancel(12)
    season.cancel(11)
    look_once()
    season.shoot(11, 12)
    look_once()
    assert sorted(order["document"]["state"] for order in season.orders()) == ["asked_for", "called_off"]


def test_looking_twice_changes_nothing(season: Season) -> None:
    season.shoot(3, 4, 5)
    assert look_once() == 1
    assert not to_be_reconsidered(Production.objects.get(id=season.id))
    entries = Entry.objects.count()
    assert look_once() == 0
    assert reconsider_orders(season.id) == 0
    assert reconsider_orders(season.id, today=season.today) == 0
    assert Entry.objects.count() == entries
    assert len(season.orders()) == 1


def test_a_new_day_is_a_reason_to_look(season: Season) -> None:
    season.shoot(3, 4, 5)
    look_once()
    before = _one(season)["document"]
    production = Production.objects.get(id=season.id)
    production.reconsidered_on = season.today - datetime.timedelta(days=1)
    production.save()
    assert to_be_reconsidered(production)
    look_once()
    assert not to_be_reconsidered(Production.objects.get(id=season.id))
    # On the morning of the last day two of the three are past, and three copies are plenty for one.
    reconsider_orders(season.id, today=season.today + datetime.timedelta(days=5))
    assert before["state"] == "asked_for"
    assert _one(season)["document"]["state"] == "called_off"


def test_an_older_state_is_not_put_over_a_newer_one(season: Season) -> None:
    """A slow server that read before the others have written leaves what they wrote."""
    season.shoot(3, 4, 5)
    look_once()
    order = _one(season)
    Production.objects.filter(id=season.id).update(reconsidered_seq=order["seq"] + 50)
    season.add_copies(6)
    assert reconsider_orders(season.id) == 0
    assert _one(season)["document"]["state"] == "asked_for"


def test_what_is_taken_on_is_left_alone_until_it_is_sent(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    order = _one(season)
    assert _state(season, order, "taken_on", patch={"note": "Pouring on Monday"})["result"] == "stored"
    season.shoot(13, 14)
    look_once()
    standing = _one(season)
    document = standing["document"]
    assert {name: value for name, value in document.items() if name != "question"} == {
        **order["document"], "state": "taken_on", "note": "Pouring on Monday",
    }  # fmt: skip
    assert document["question"]["copies"] > document["copies"]
    season.add_copies(8)
    look_once()
    assert _one(season)["document"]["state"] == "taken_on"
    assert _state(season, _one(season), "sent")["result"] == "stored"
    look_once()
    assert _one(season)["document"]["state"] == "sent"
    season.shoot(*range(15, 30))
    look_once()
    assert sorted(order["document"]["state"] for order in season.orders()) == ["asked_for", "sent"]


def test_a_note_survives_a_change_of_the_order(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    assert _state(season, _one(season), "asked_for", patch={"note": "Ask me first"})["result"] == "stored"
    season.shoot(13)
    look_once()
    assert _one(season)["document"]["note"] == "Ask me first"


def test_taken_on_offline_while_the_order_grew(season: Season) -> None:
    """The shop had not seen it grow. It is taken on all the same, as it stands now, and nothing collides."""
    season.shoot(10, 11, 12)
    look_once()
    seen = _one(season)
    season.shoot(13, 14)
    look_once()
    assert _state(season, seen, "taken_on")["result"] == "stored"
    order = _one(season)["document"]
    assert order["state"] == "taken_on"
    assert order["copies"] > seen["document"]["copies"]
    assert season.show.head.conflicts() == []


def test_taken_on_offline_when_it_had_been_called_off(season: Season) -> None:
    """Two things that cannot both be true: a person is asked."""
    season.shoot(10, 11, 12)
    look_once()
    seen = _one(season)
    season.add_copies(8)
    look_once()
    assert _state(season, seen, "taken_on")["result"] == "conflict"
    assert _one(season)["document"]["state"] == "called_off"
    (conflict,) = season.show.head.conflicts()
    (collided,) = conflict["fields_collided"]
    assert (collided["path"], collided["kept"], collided["offered"]) == (["state"], "called_off", "taken_on")


def test_a_second_open_order_is_refused(season: Season) -> None:
    """The first was sent, and not all of it after all; by then there is another."""
    season.shoot(10, 11, 12)
    look_once()
    first = _one(season)
    _state(season, first, "taken_on")
    _state(season, _one(season), "sent")
    season.shoot(*range(13, 30))
    look_once()
    assert sorted(order["document"]["state"] for order in season.orders()) == ["asked_for", "sent"]
    (first,) = [order for order in season.orders() if order["id"] == first["id"]]
    result = _state(season, first, "casting")
    assert (result["result"], result["code"], result["field"]) == ("refused", "collided", "state")


@pytest.mark.parametrize("role", ROLES)
def test_who_takes_an_order_on(season: Season, role: str) -> None:
    season.shoot(10, 11, 12)
    look_once()
    order = _one(season)
    result = _state(season, order, "taken_on", role)
    if role in {"shop", "department_head"}:
        assert result["result"] == "stored"
        assert _one(season)["document"]["state"] == "taken_on"
    else:
        code = "not_your_step" if role == "set_artist" else "not_allowed"
        assert (result["result"], result["code"]) == ("refused", code)
        assert _one(season) == order


@pytest.mark.parametrize("role", ["shop", "department_head"])
def test_nobody_writes_what_is_worked_out(season: Season, role: str) -> None:
    season.shoot(10, 11, 12)
    look_once()
    order, phone = _one(season), season.show.phone(role)
    for patch in (
        {"copies": 77}, {"latest_start": None}, {"possible": False}, {"raised_by": "hand"},
        {"why": "Because"}, {"question": question(copies=3)}, {"answer": "agreed"},
    ):  # fmt: skip
        result = phone.send(phone.entry("order", patch, order["id"], order["revision"]))[0]
        code = "question_changed" if "answer" in patch else "not_allowed"
        assert (result["result"], result["code"]) == ("refused", code), patch
    for entry in (
        phone.entry("order", {**order["document"]}),
        phone.entry("order", {}, order["id"], order["revision"], withdrawn="Away with it"),
    ):
        assert phone.send(entry)[0]["code"] == "not_allowed"
    assert _one(season) == order


def test_an_appliance_without_a_mould_is_not_ordered(season: Season) -> None:
    head = season.show.head
    mould = head.record(season.show.mould)
    head.send_ok(head.entry("mould", {}, season.show.mould, mould["revision"], withdrawn="Broken"))
    season.shoot(3, 4, 5)
    look_once()
    assert season.orders() == []
    assert season.cover()["reorder"] is None


def test_short_tomorrow_for_certain_still_orders_for_the_days_after(season: Season) -> None:
    """No order can help tomorrow, which asks for two copies more than there are; the rest wants one."""
    season.settings(transport_days=2)
    season.log(*((copy, "good") for copy in season.show.copies))
    season.shoot(1, 20, 21)
    look_once()
    order = _one(season)["document"]
    assert not order["possible"]
    assert order["still_short"] == season.date(1)
    assert order["best_p_covered"] == 0
    assert "latest_start" not in order
    # Two applications to come can be served, with Beta(12, 1) for each copy: two copies are not enough.
    assert 3 <= order["copies"] <= 5


def test_an_order_that_comes_too_late_says_so(season: Season) -> None:
    """Seven days in a row from the day after tomorrow, one pour a day, one day on the road."""
    season.shoot(*range(2, 9))
    look_once()
    order = _one(season)["document"]
    assert not order["possible"]
    assert order["p_covered_now"] < order["best_p_covered"] < 0.98
    assert order["still_short"] >= order["needed_on"]


def test_one_production_that_cannot_be_worked_out_does_not_keep_the_others(
    season: Season, caplog: pytest.LogCaptureFixture
) -> None:
    broken = make_season()
    Production.objects.filter(id=broken.id).update(time_zone="Nowhere/At all")
    season.shoot(10, 11, 12)
    assert look_once() == 1
    look_once()
    assert len(season.orders()) == 1
    faults = [record for record in caplog.records if str(broken.id) in record.getMessage()]
    assert len(faults) == 1


def test_the_command_looks_once(season: Season) -> None:
    season.shoot(10, 11, 12)
    printed = io.StringIO()
    call_command("watch_cover", once=True, stdout=printed)
    call_command("watch_cover", once=True, stdout=printed)
    assert printed.getvalue().splitlines() == ["Orders written: 1", "Orders written: 0"]


def test_orders_are_shown_in_the_admin(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    page = season.show.head.account.get("/admin/shop/order/")
    assert page.status == 200
    assert b"Brow" in page.content
