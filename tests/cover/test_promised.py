"""An order the shop has taken on is not asked for again: what is still to come of it is due supply."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.cover.assemble import plans_of
from continuity.cover.covers import ApplianceCover, covers_of
from continuity.cover.grades import GradedPlan
from continuity.cover.production_facts import OrderFacts, Place, ProductionFacts
from continuity.cover.promised import promises_of, still_to_come
from continuity.cover.reasons import reasons_of
from continuity.cover.watch import look_once
from continuity.stock.grade import Grade
from tests.cover.known_facts import (
    SETTINGS,
    TODAY,
    appliance,
    date,
    facts,
    look,
    lot,
    mould,
    run,
    scene,
    shoot_day,
)
from tests.shop.season import Season

CUT = scene("12", "cut")
DAYS = [shoot_day(ahead, CUT) for ahead in (10, 11, 12)]


def order(copies: int = 4, state: str = "taken_on", key: str = "brow", **more: Any) -> OrderFacts:
    known: dict[str, Any] = {
        "entered": 0,
        "runs": (),
        "grade": Grade.HERO,
        "mould_id": "mould",
        "latest_start": date(3),
        "needed_on": date(10),
        "expected_on": None,
    }
    return OrderFacts(f"order of {key}", key, state, copies, **(known | more))


def only(found: ProductionFacts) -> ApplianceCover:
    (cover,) = covers_of(found)
    return cover


def comes(found: ProductionFacts) -> dict[datetime.date, int]:
    (promise,) = promises_of(found)["brow"]
    return {arrival.date: arrival.copies for arrival in promise.arrivals}


@pytest.mark.parametrize("state", ["taken_on", "casting", "sent"])
def test_what_is_on_its_way_is_not_asked_for_again(state: str) -> None:
    without = only(facts(DAYS))
    assert without.reorder is not None
    asked = without.reorder.copies
    assert asked > 0
    found = only(facts(DAYS, orders=(order(asked, state, latest_start=without.reorder.latest_start),)))
    assert found.at_target
    assert found.reorder is not None
    assert found.reorder.copies == 0
    assert found.plan.due == asked


def test_one_that_is_only_asked_for_brings_nothing() -> None:
    found = only(facts(DAYS, orders=(order(8, "asked_for"),)))
    assert found.cover == only(facts(DAYS)).cover
    assert found.reorder == only(facts(DAYS)).reorder
    assert found.plan.due == 0


def test_the_latest_start_obeyed_gives_what_was_promised() -> None:
    """The cover with the order taken on is the one the order was raised for."""
    raised = only(facts(DAYS)).reorder
    assert raised is not None
    under_way = only(facts(DAYS, orders=(order(raised.copies, latest_start=raised.latest_start),)))
    assert under_way.cover.p_covered == pytest.approx(raised.p_covered, abs=1e-7)


def test_a_start_that_has_gone_by_is_today_and_a_date_the_shop_has_said_stands() -> None:
    late = facts(DAYS, orders=(order(2, latest_start=date(-5)),))
    assert min(comes(late)) > TODAY
    assert sum(comes(late).values()) == 2
    assert comes(facts(DAYS, orders=(order(2, expected_on=date(9)),))) == {date(9): 2}
    assert comes(facts(DAYS, orders=(order(2, "sent", expected_on=date(-1)),))) == {TODAY: 2}
    assert comes(facts(DAYS, orders=(order(2, "sent"),))) == {date(1): 2}


def test_casting_has_begun_whatever_the_latest_start_is() -> None:
    assert min(comes(facts(DAYS, orders=(order(2, "casting", latest_start=date(8)),)))) < date(8)
    assert min(comes(facts(DAYS, orders=(order(2, latest_start=date(8)),)))) > date(8)


def test_without_a_mould_they_come_when_they_are_needed() -> None:
    by_hand = order(2, by_hand=True, mould_id=None, latest_start=None)
    assert comes(facts(DAYS, moulds=(), orders=(by_hand,))) == {date(10): 2}
    overdue = facts(DAYS, moulds=(), orders=(replace(by_hand, needed_on=date(-2)),))
    assert comes(overdue) == {}
    assert only(overdue).plan.undated == 2
    assert only(overdue).cover.p_covered == only(facts(DAYS, moulds=())).cover.p_covered


def test_what_is_entered_or_due_counts_there_and_no_more_here() -> None:
    due = run(3, due=5)
    plain = facts(DAYS, runs=(due,))
    assert still_to_come(order(6), plain) == 6
    assert still_to_come(order(6, entered=2), plain) == 4
    # Of three poured with a yield of 4/5 on average 2.4 pass, rounded up.
    assert still_to_come(order(6, entered=2, runs=(due.id,)), plain) == 1
    assert still_to_come(order(2, entered=5), plain) == 0
    assert still_to_come(order(6, "sent"), plain) == 6
    assert still_to_come(order(6, "sent", entered=4), plain) == 0
    assert still_to_come(order(6, "asked_for"), plain) == 0


def test_half_made_is_as_good_as_not_begun() -> None:
    """Two of six are on set already: the supply is six either way."""
    whole = only(facts(DAYS, [lot(1)], orders=(order(6, expected_on=date(2)),)))
    half = only(
        facts(DAYS, [lot(1), lot(2, place=Place.ON_SET)], orders=(order(6, entered=2, expected_on=date(2)),))
    )
    assert half.cover.p_covered == pytest.approx(whole.cover.p_covered)
    assert half.plan.on_set + half.plan.due == whole.plan.on_set + whole.plan.due == 7


def test_looks_of_several_grades_are_served_by_it_too() -> None:
    crowd: dict[str, Any] = {
        "looks": (look("crowd", "brow"),),
        "grades": {("crowd", "brow"): Grade.BACKGROUND},
    }
    days = [shoot_day(10, scene("30", "crowd")), shoot_day(11, CUT)]
    hero = only(facts(days, orders=(order(3, expected_on=date(4)),), **crowd))
    assert isinstance(hero.plan.plan, GradedPlan)
    assert hero.cover.p_covered > 0.9
    low = only(facts(days, orders=(order(3, expected_on=date(4), grade=Grade.BACKGROUND),), **crowd))
    assert low.cover.p_covered == 0


def test_the_reasons_name_the_order_and_add_up() -> None:
    found = facts(
        DAYS, [lot(1, place=Place.SHOP, expected_on=date(4))], orders=(order(3),), runs=(run(2, 5),)
    )
    cover = only(found)
    lines = reasons_of(cover, found, [cover], []).supply
    ordered = [line for line in lines if line.place == "order"]
    assert {line.order for line in ordered} == {"order of brow"}
    assert sum(line.copies for line in ordered) == 3
    assert sum(line.copies for line in lines if line.place in ("shop", "run", "order")) == cover.plan.due
    assert sum(line.copies for line in lines if line.on) == sum(cover.arriving.values())


@settings(max_examples=40)
@given(
    under_way=st.integers(1, 6),
    start=st.integers(-3, 12),
    cavities=st.integers(1, 2),
    state=st.sampled_from(["taken_on", "casting"]),
    needs=st.lists(st.sampled_from([3, 5, 6, 8, 12]), min_size=1, max_size=4, unique=True),
)
def test_the_mould_makes_what_is_promised_and_what_is_ordered_within_its_capacity(
    under_way: int, start: int, cavities: int, state: str, needs: list[int]
) -> None:
    """The brow is promised, the cheek cast in the same mould is wanted."""
    both = scene("12", "cut", "cheeks")
    found = facts(
        [shoot_day(ahead, both) for ahead in sorted(needs)],
        appliances=(appliance(), appliance("cheek")),
        looks=(look("cheeks", "cheek"),),
        moulds=(mould("brow", "cheek", cavities=cavities),),
        orders=(order(under_way, state, latest_start=date(start)),),
        settings=replace(SETTINGS, weekdays_off=frozenset({6})),
    )
    pours: Counter[datetime.date] = Counter()
    for promise in promises_of(found)["brow"]:
        pours.update({day.date: day.pours for day in promise.pours})
    assert sum(pours.values()) >= under_way
    for plan, cover in zip(plans_of(found), covers_of(found), strict=True):
        assert plan.shop is not None
        assert cover.reorder is not None
        pours.update({day.date: day.pours for day in cover.reorder.schedule})
    assert max(pours.values()) <= cavities
    assert all(day.weekday() != 6 and day >= TODAY for day in pours)


# -- as the phones write it --------------------------------------------------------------------------


def _due(season: Season) -> int:
    return int(season.cover()["due"])


def _order_taken_on(season: Season) -> dict[str, Any]:
    season.shoot(10, 11, 12)
    look_once()
    (raised,) = season.orders()
    _say(season, raised, {"state": "taken_on"})
    return raised


def _say(season: Season, raised: dict[str, Any], patch: dict[str, Any]) -> None:
    shop = season.show.shop
    now = shop.record(raised["id"])
    shop.send_ok(shop.entry("order", patch, raised["id"], now["revision"], seen=now["seq"]))


def test_from_taking_it_on_to_set_its_copies_are_counted_once(season: Season) -> None:
    show, copies_before = season.show, 3
    raised = _order_taken_on(season)
    copies = raised["document"]["copies"]
    assert copies > 1
    cover = season.cover()
    assert (cover["on_set"], cover["due"], cover["reorder"]["copies"]) == (copies_before, copies, 0)
    assert cover["first_day_at_risk"] is None
    _say(season, raised, {"state": "casting"})
    casting = {"mould": show.mould, "appliance": show.appliance, "order": raised["id"],
               "cast_on": season.date(0), "due_on": season.date(2), "copies_planned": 1}  # fmt: skip
    cast_run = show.shop.make("cast_run", casting)
    # The one poured counts with its uncertainty, the others as promised.
    assert _due(season) == copies
    now = show.shop.record(cast_run)
    show.shop.send_ok(show.shop.entry("cast_run", {"good": 1}, cast_run, now["revision"], seen=now["seq"]))
    made = season.add_copies(1, cast_run=cast_run, state="shop", expected_on=season.date(3))
    assert _due(season) == copies
    # Entered without a cast run, after it was taken on: of this order all the same.
    made += season.add_copies(copies - 1, state="shop", expected_on=season.date(3))
    assert _due(season) == copies
    _say(season, raised, {"state": "sent"})
    parcel = {"order": raised["id"], "copies": {copy: {} for copy in made}, "packed_on": season.date(2)}
    show.shop.make("parcel", parcel)
    assert (_due(season), season.cover()["on_set"]) == (copies, copies_before)
    look_once()
    assert [order["id"] for order in season.orders()] == [raised["id"]]


def test_copies_of_another_run_are_not_taken_for_those_of_the_order(season: Season) -> None:
    show = season.show
    raised = _order_taken_on(season)
    other = {"mould": show.mould, "appliance": show.appliance, "cast_on": season.date(-3),
             "due_on": season.date(0), "copies_planned": 1, "good": 1}  # fmt: skip
    season.add_copies(1, cast_run=show.shop.make("cast_run", other), state="shop")
    assert _due(season) == raised["document"]["copies"] + 1


def test_arrived_or_called_off_it_brings_no_more(season: Season) -> None:
    raised = _order_taken_on(season)
    _say(season, raised, {"state": "sent"})
    assert _due(season) == raised["document"]["copies"]
    head = season.show.head
    now = head.record(raised["id"])
    head.send_ok(head.entry("order", {"state": "arrived"}, raised["id"], now["revision"], seen=now["seq"]))
    assert _due(season) == 0


def test_the_reasons_page_names_the_order(season: Season) -> None:
    raised = _order_taken_on(season)
    head = season.show.head
    answer = head.account.get(head.path(f"cover/{season.show.appliance}/reasons"))
    lines = [line for line in answer.body["supply"] if line["place"] == "order"]
    assert {line["order"] for line in lines} == {raised["id"]}
    assert sum(line["copies"] for line in lines) == raised["document"]["copies"]
    assert all(line["on"] for line in lines)
