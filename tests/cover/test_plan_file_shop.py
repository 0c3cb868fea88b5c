"""What may be added to a plan in JSON: shelf dates, losses, copies set aside, runs, a mould. All plans are
made up here.
"""

from __future__ import annotations

import copy
import datetime
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.plan import Arrival, DatedCopies, InvalidPlan, RunDue, SetAside
from continuity.cover.plan_file import read_plan_and_shop, reorder_as_json
from continuity.cover.reorder import work_out_reorder
from continuity.cover.shop import Mould, Shop
from tests.cover.test_plan_file import GOOD

EXAMPLE: dict[str, Any] = json.loads((Path(__file__).parent / "plan_example.json").read_text())


def date(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def changed(path: tuple[str | int, ...], value: Any) -> bytes:
    plan = copy.deepcopy(EXAMPLE)
    place: Any = plan
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return json.dumps(plan).encode()


def without(*path: str | int) -> bytes:
    plan = copy.deepcopy(EXAMPLE)
    place: Any = plan
    for step in path[:-1]:
        place = place[step]
    del place[path[-1]]
    return json.dumps(plan).encode()


def test_the_documented_example_is_read_as_written() -> None:
    plan, shop = read_plan_and_shop(json.dumps(EXAMPLE).encode())
    assert plan.log == UsageLog(good=34, spoiled=3, lost=2)
    assert plan.on_set == 1
    assert plan.dated == (DatedCopies(4, date("2026-03-06")), DatedCopies(3, date("2026-04-30")))
    assert plan.arrivals == (Arrival(date("2026-03-09"), 4, date("2026-06-30")),)
    assert plan.set_aside == (SetAside(date("2026-03-12"), 1, 2),)
    assert plan.runs == (RunDue(date("2026-03-11"), 4, Beta(25, 6)),)
    assert shop == Shop(
        mould=Mould(2, 2, good=21, poured=26, prior=Beta(4, 1), confidence=0.9),
        today=date("2026-03-02"),
        transport_days=1,
        days_off=frozenset({date("2026-03-13")}),
        weekdays_off=frozenset({5, 6}),
    )


def test_the_order_of_the_example_lifts_its_cover_to_the_target() -> None:
    plan, shop = read_plan_and_shop(json.dumps(EXAMPLE).encode())
    assert shop is not None
    order = work_out_reorder(plan, shop)
    written = json.loads(json.dumps(reorder_as_json(order), allow_nan=False))
    assert list(written) == ["copies", "pours", "latest_start", "possible", "best_p_covered"]
    assert work_out_cover(plan).p_covered < plan.target <= order.p_covered
    assert written["latest_start"] == str(order.latest_start)
    assert written["copies"] > 0
    assert written["pours"] >= written["copies"]


def test_the_order_of_the_example_had_it_been_there_in_good_time_is_enough_and_one_fewer_is_not() -> None:
    plan, shop = read_plan_and_shop(json.dumps(EXAMPLE).encode())
    assert shop is not None
    order = work_out_reorder(plan, shop)
    for copies, enough in ((order.copies, True), (order.copies - 1, False)):
        come = Arrival(date("2026-03-10"), copies)
        covered = work_out_cover(replace(plan, arrivals=(*plan.arrivals, come))).p_covered
        assert (covered >= plan.target) is enough


def test_an_order_out_of_reach_has_no_latest_start() -> None:
    plan, shop = read_plan_and_shop(changed(("today",), "2026-03-20"))
    assert shop is not None
    written = reorder_as_json(work_out_reorder(plan, shop))
    assert (written["possible"], written["latest_start"]) == (False, None)


def test_a_list_of_copies_without_dates_is_the_plain_number() -> None:
    listed = read_plan_and_shop(
        json.dumps(GOOD | {"on_set": [{"copies": 4}, {"copies": 2, "use_by": None}]}).encode()
    )
    assert listed == read_plan_and_shop(json.dumps(GOOD | {"on_set": 6}).encode())


def test_without_a_mould_there_is_no_shop() -> None:
    assert read_plan_and_shop(json.dumps(GOOD).encode())[1] is None
    assert read_plan_and_shop(json.dumps(GOOD | {"today": "2026-03-02"}).encode())[1] is None


def test_weekdays_are_taken_in_any_case_and_transport_and_days_off_may_be_left_out() -> None:
    shop = read_plan_and_shop(changed(("days_off",), ["Sunday", "MONDAY"]))[1]
    assert shop is not None
    assert shop.weekdays_off == {6, 0}
    shop = read_plan_and_shop(without("days_off"))[1]
    assert shop is not None
    assert (shop.days_off, shop.weekdays_off) == (frozenset(), frozenset())
    shop = read_plan_and_shop(without("transport_days"))[1]
    assert shop is not None
    assert shop.transport_days == 0


BAD: list[tuple[str, bytes, str]] = [
    ("lost negative", changed(("log", "lost"), -1), "log.lost"),
    ("lost a fraction", changed(("log", "lost"), 0.5), "log.lost"),
    ("a lot without copies", without("on_set", 0, "copies"), "on_set[0].copies"),
    ("a lot with another field", changed(("on_set", 1, "grade"), "hero"), "on_set[1].grade"),
    ("a lot that is a number", changed(("on_set", 2), 3), "on_set[2]"),
    ("a lot of less than none", changed(("on_set", 0, "copies"), -1), "on_set[0].copies"),
    ("a shelf date that is none", changed(("on_set", 0, "use_by"), "soon"), "on_set[0].use_by"),
    ("too many lots", changed(("on_set",), [{"copies": 0}] * 2_001), "on_set"),
    ("on_set an object", changed(("on_set",), {"copies": 3}), "on_set"),
    ("a shelf date of an arrival", changed(("arrivals", 0, "use_by"), 20260630), "arrivals[0].use_by"),
    ("a shelf date of a day", changed(("days", 0, "use_by"), "2026-03-02"), "days[0].use_by"),
    ("set aside a number", changed(("set_aside",), 2), "set_aside"),
    ("set aside for no day", changed(("set_aside", 0, "date"), "2026-03-11"), "set_aside[0].date"),
    ("set aside beyond the day", changed(("set_aside", 0, "copies_needed"), 3), "set_aside[0].copies_needed"),
    ("set aside without copies", without("set_aside", 0, "copies"), "set_aside[0].copies"),
    ("set aside less than none", changed(("set_aside", 0, "copies"), -2), "set_aside[0].copies"),
    ("runs without a mould", without("mould"), "mould"),
    ("a run of less than none", changed(("runs", 0, "poured"), -4), "runs[0].poured"),
    ("a run without a date", without("runs", 0, "date"), "runs[0].date"),
    ("mould a number", changed(("mould",), 2), "mould"),
    ("no cavities", without("mould", "cavities"), "mould.cavities"),
    ("cavities 0", changed(("mould", "cavities"), 0), "mould.cavities"),
    ("cavities beyond bounds", changed(("mould", "cavities"), 10**6), "mould.cavities"),
    ("cycles a fraction", changed(("mould", "cycles_per_day"), 1.5), "mould.cycles_per_day"),
    ("cycles 0", changed(("mould", "cycles_per_day"), 0), "mould.cycles_per_day"),
    ("no yield", without("mould", "yield"), "mould.yield"),
    ("more good than poured", changed(("mould", "yield", "good"), 27), "mould.yield.good"),
    ("poured text", changed(("mould", "yield", "poured"), "26"), "mould.yield.poured"),
    ("yield with another field", changed(("mould", "yield", "bad"), 5), "mould.yield.bad"),
    ("mould prior 0", changed(("mould", "prior"), [0, 1]), "mould.prior[0]"),
    ("mould prior of one", changed(("mould", "prior"), [4]), "mould.prior"),
    ("no confidence", without("mould", "confidence"), "mould.confidence"),
    ("confidence in percent", changed(("mould", "confidence"), 90), "mould.confidence"),
    ("confidence 1", changed(("mould", "confidence"), 1), "mould.confidence"),
    ("no today", without("today"), "today"),
    ("today a number", changed(("today",), 20260302), "today"),
    ("transport negative", changed(("transport_days",), -1), "transport_days"),
    ("transport beyond bounds", changed(("transport_days",), 366), "transport_days"),
    ("days off a text", changed(("days_off",), "sunday"), "days_off"),
    ("a day off that is no day", changed(("days_off", 1), "someday"), "days_off[1]"),
    ("a day off not in the calendar", changed(("days_off", 2), "2026-02-30"), "days_off[2]"),
    ("a day off by number", changed(("days_off", 0), 6), "days_off[0]"),
]


@pytest.mark.parametrize(("text", "field"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_bad_input_is_refused_in_one_sentence_that_names_the_field(text: bytes, field: str) -> None:
    with pytest.raises(InvalidPlan) as refused:
        read_plan_and_shop(text)
    assert refused.value.field == field
    sentence = str(refused.value)
    assert sentence.startswith(f"{field} ")
    assert sentence.endswith(".")
    assert len(sentence.splitlines()) == 1
