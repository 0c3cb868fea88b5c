"""A cast run: what came out of each cavity, what it yields, and what is to be looked at."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from continuity.cover.facts import casts_by_mould
from continuity.stock.models import CastRun
from tests.builders import Phone, Show, assert_feed_is_whole, new_id

Json = dict[str, Any]
CASES = json.loads((Path(__file__).parents[1] / "cases" / "ratio.json").read_text())["cases"]
STARTED = "2026-11-20T09:00:00+00:00"


def edit(phone: Phone, kind: str, record: str, patch: Json) -> None:
    now = phone.record(record)
    phone.send_ok(phone.entry(kind, patch, record, now["revision"], seen=now["seq"]))


def warnings(show: Show) -> list[Json]:
    found: list[Json] = show.continuity.record(show.cast_run)["derived"]["warnings"]
    return found


def cavities(*results: Json) -> Json:
    return {new_id(): {"cavity": number, **result} for number, result in enumerate(results, start=1)}


GOOD: Json = {"result": "good"}
LOWER: Json = {"result": "lower_grade", "grade": "background", "why": "torn_edge"}
TACKY: Json = {"result": "rejected", "why": "tacky"}


# -- weights against the ratio ------------------------------------------------------------------------------


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_weight_off_the_ratio_is_said(show: Show, case: Json) -> None:
    """The same cases as on the phone, which says it before anything is sent."""
    ratio = {"parts_a": case["ratio"]["a"], "parts_b": case["ratio"]["b"],
             "deadener_parts": case["ratio"]["deadener"]}  # fmt: skip
    edit(show.shop, "appliance", show.appliance, ratio)
    edit(show.head, "production", show.production, {"ratio_tolerance_percent": case["tolerance_percent"]})
    pour = {f"{part}_grams": grams for part, grams in case["weighed"].items()}
    key = new_id()
    edit(show.shop, "cast_run", show.cast_run, {"pours": {key: pour}})
    found = {warning["key"]: warning["words"] for warning in warnings(show)}
    assert found.keys() == {f"pour_off_ratio:{key}:{off['part']}" for off in case["off"]}
    for off in case["off"]:
        assert f"{off['percent']:.1f} % too" in found[f"pour_off_ratio:{key}:{off['part']}"]


def test_what_is_not_weighed_yet_is_not_off(show: Show) -> None:
    edit(show.shop, "appliance", show.appliance, {"deadener_parts": 1})
    for pour in ({"a_grams": 8}, {"b_grams": 8, "deadener_grams": 3}, {"a_grams": 8, "b_grams": 8}):
        edit(show.shop, "cast_run", show.cast_run, {"pours": {new_id(): pour}})
        assert warnings(show) == []


def test_the_words_say_what_to_weigh(show: Show) -> None:
    edit(show.shop, "appliance", show.appliance, {"deadener_parts": 1})
    edit(show.shop, "cast_run", show.cast_run, {"pours": {new_id(): {"a_grams": 8, "b_grams": 8.4}}})
    (warning,) = warnings(show)
    assert warning["code"] == "pour_off_ratio"
    assert warning["words"] == "Mix 1: 8.4 g of B where A asks for 8.0 g, 5.0 % too much; 2 % are allowed."


# -- results by cavity ----------------------------------------------------------------------------------


def test_a_rejected_copy_needs_a_why(show: Show) -> None:
    now = show.shop.record(show.cast_run)
    bad = show.shop.entry(
        "cast_run", {"cavities": cavities({"result": "rejected"})}, show.cast_run, now["revision"]
    )
    (result,) = show.shop.send(bad)
    assert result["code"] == "not_a_document"
    assert result["message"].endswith("a rejected copy needs a why.")


def test_the_yield_is_learnt_from_the_cavities(show: Show) -> None:
    """By hand: of four cavities one good and one of a lower grade are two copies; one of them is what was
    asked for, so the mould's yield is 1 of 4."""
    edit(show.shop, "mould", show.mould, {"cavities": 4})
    done = {"good": 2, "copies_planned": 4, "cavities": cavities(GOOD, LOWER, TACKY, TACKY)}
    edit(show.shop, "cast_run", show.cast_run, done)
    run = CastRun.objects.get(id=show.cast_run)
    assert (run.good, run.lower_grade) == (2, 1)
    assert run.rejected == [{"copies": 2, "why": "Tacky"}]
    assert casts_by_mould(UUID(show.production)) == {UUID(show.mould): (1, 4)}
    assert warnings(show) == []


def test_without_cavities_the_numbers_count_as_before(show: Show) -> None:
    rejected = {new_id(): {"copies": 1, "why": "Air bubble"}}
    edit(show.shop, "cast_run", show.cast_run, {"good": 1, "rejected": rejected})
    assert casts_by_mould(UUID(show.production)) == {UUID(show.mould): (1, 2)}


def test_cavities_without_a_result_leave_the_run_due(show: Show) -> None:
    edit(show.shop, "cast_run", show.cast_run, {"started_at": STARTED, "cavities": cavities(GOOD)})
    assert CastRun.objects.get(id=show.cast_run).good is None
    assert casts_by_mould(UUID(show.production)) == {}


def test_good_that_is_not_what_the_cavities_say(show: Show) -> None:
    edit(show.shop, "mould", show.mould, {"cavities": 3})
    edit(show.shop, "cast_run", show.cast_run, {"good": 3, "cavities": cavities(GOOD, LOWER, TACKY)})
    (warning,) = warnings(show)
    assert warning["code"] == "good_is_not_the_cavities"
    assert warning["words"] == "3 good were written, and by the cavities there are 2: the cavities count."
    assert CastRun.objects.get(id=show.cast_run).good == 2


def test_two_tablets_at_one_bench_lose_nothing(show: Show) -> None:
    """Each writes its cavities and its own count while the other is away; the second count is a conflict, and
    what came out is counted from both."""
    edit(show.shop, "mould", show.mould, {"cavities": 4})
    now = show.shop.record(show.cast_run)
    one, other = cavities(GOOD, GOOD), {new_id(): {"cavity": 3, **LOWER}}
    first = show.shop.entry("cast_run", {"good": 2, "cavities": one}, show.cast_run, now["revision"])
    second = show.head.entry("cast_run", {"good": 1, "cavities": other}, show.cast_run, now["revision"])
    show.shop.send_ok(first)
    assert show.head.send(second)[0]["result"] == "conflict"
    run = CastRun.objects.get(id=show.cast_run)
    assert (run.good, run.lower_grade) == (3, 1)
    assert [warning["code"] for warning in warnings(show)] == ["good_is_not_the_cavities"]
    assert_feed_is_whole(show)


def test_a_cavity_twice_and_one_the_mould_has_not(show: Show) -> None:
    both = {
        new_id(): {"cavity": 1, **GOOD},
        new_id(): {"cavity": 1, **TACKY},
        new_id(): {"cavity": 9, **GOOD},
    }
    edit(show.shop, "cast_run", show.cast_run, {"good": 2, "cavities": both})
    assert {warning["code"]: warning["words"] for warning in warnings(show)} == {
        "cavity_twice": "Cavity 1 has 2 results: which one is it?",
        "cavity_unknown": "The mould has no cavity 9, only 1.",
    }


def test_a_lot_past_its_date_on_the_day_of_casting(show: Show) -> None:
    """The run is cast on 20 November; opened on the 1st, the lot kept 10 days."""
    old = {"name": "Gel", "use": "gel_a", "lot": "7", "opened_on": "2026-11-01", "opened_life_days": 10}
    lot = show.shop.make("material", old)
    edit(show.shop, "cast_run", show.cast_run, {"lots": {new_id(): {"material": lot}}})
    (warning,) = warnings(show)
    assert warning["code"] == "lot_past_its_date"
    assert warning["words"].startswith(
        "Gel, lot 7 was past its date on the day of casting: it kept until 11 November 2026."
    )


def test_a_run_from_start_to_serials(show: Show) -> None:
    """As the bench writes it: started from its order, weighed, timed, its copies made, then its cavities."""
    order = {"appliance": show.appliance, "mould": show.mould, "copies": 1, "raised_by": "hand",
             "needed_on": "2026-12-10", "why": "By hand"}  # fmt: skip
    made = {
        "order": show.head.make("order", order),
        "started_at": STARTED,
        "temperature_celsius": 22.5,
        "pours": {new_id(): {"a_grams": 8, "b_grams": 8, "poured_at": STARTED}},
        "timers": {new_id(): {"what": "Pot life", "minutes": 5.4, "started_at": STARTED}},
    }
    edit(show.shop, "cast_run", show.cast_run, made)
    copy = show.shop.make(
        "copy",
        {"appliance": show.appliance, "serial": "B-7QKF2-1", "grade": "hero", "cast_run": show.cast_run},
    )
    done = {"good": 1, "copies_planned": 1, "cavities": cavities({**GOOD, "copy_cast": copy})}
    edit(show.shop, "cast_run", show.cast_run, done)
    document = show.set_artist.record(show.cast_run)["document"]
    assert document["temperature_celsius"] == 22.5
    assert [cavity["copy_cast"] for cavity in document["cavities"].values()] == [copy]
    assert document["order"] == made["order"]
