"""Reading a plan from JSON, strictly. All plans are made up here."""

from __future__ import annotations

import copy
import datetime
import json
from typing import Any

import pytest

from continuity.cover.calculation import work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.plan import Arrival, InvalidPlan, Plan, PlannedDay
from continuity.cover.plan_file import cover_as_json, read_plan_and_shop

GOOD: dict[str, Any] = {
    "target": 0.98,
    "prior": [9, 1],
    "log": {"good": 21, "spoiled": 2},
    "on_set": 6,
    "arrivals": [{"date": "2026-03-04", "copies": 4}],
    "days": [
        {"date": "2026-03-02", "copies_needed": 2},
        {"date": "2026-03-03", "copies_needed": 0},
        {"date": "2026-03-04", "copies_needed": 3},
    ],
}


def read_plan(text: bytes) -> Plan:
    return read_plan_and_shop(text)[0]


def as_text(value: Any) -> bytes:
    return json.dumps(value).encode()


def changed(path: tuple[str | int, ...], value: Any) -> bytes:
    plan = copy.deepcopy(GOOD)
    place: Any = plan
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return as_text(plan)


def without(path: tuple[str | int, ...]) -> bytes:
    plan = copy.deepcopy(GOOD)
    place: Any = plan
    for step in path[:-1]:
        place = place[step]
    del place[path[-1]]
    return as_text(plan)


def test_a_plan_is_read_as_written() -> None:
    plan = read_plan(as_text(GOOD))
    assert (plan.target, plan.prior, plan.log, plan.on_set) == (0.98, Beta(9, 1), UsageLog(21, 2), 6)
    assert plan.arrivals == (Arrival(datetime.date(2026, 3, 4), 4),)
    assert plan.days[2] == PlannedDay(datetime.date(2026, 3, 4), 3)


def test_empty_lists_and_a_byte_order_mark_are_taken() -> None:
    plan = read_plan(b"\xef\xbb\xbf" + as_text(GOOD | {"arrivals": [], "days": []}))
    assert (plan.arrivals, plan.days) == ((), ())


def test_the_cover_is_written_with_the_names_and_nothing_else() -> None:
    cover = work_out_cover(read_plan(as_text(GOOD)))
    value = json.loads(json.dumps(cover_as_json(cover), allow_nan=False))
    assert set(value) == {"days", "p_covered", "first_day_at_risk", "spares_now"}
    assert [day["date"] for day in value["days"]] == ["2026-03-02", "2026-03-03", "2026-03-04"]
    assert all(
        set(day) == {"date", "expected_left", "left_p10", "left_p90", "p_short_by"} for day in value["days"]
    )
    assert value["days"][0]["expected_left"] == cover.days[0].expected_left
    assert value["days"][2]["p_short_by"] == cover.days[2].p_short_by
    assert value["p_covered"] == cover.p_covered
    assert value["spares_now"] == 6
    assert value["first_day_at_risk"] is None

    at_risk = work_out_cover(read_plan(changed(("on_set",), 1)))
    assert cover_as_json(at_risk)["first_day_at_risk"] == "2026-03-02"


def test_an_infinite_mean_is_written_as_null() -> None:
    cover = work_out_cover(read_plan(as_text(GOOD | {"prior": [0.5, 0.5], "log": {"good": 0, "spoiled": 0}})))
    assert cover_as_json(cover)["days"][2]["expected_left"] is None
    assert isinstance(cover_as_json(cover)["days"][2]["left_p10"], int)


BAD: list[tuple[str, bytes, str]] = [
    ("empty", b"", "plan"),
    ("not JSON", b"target: 0.98", "plan"),
    ("cut off", as_text(GOOD)[:-5], "plan"),
    ("two plans", as_text(GOOD) + as_text(GOOD), "plan"),
    ("not UTF-8", b'{"target": "\xff\xfe"}', "plan"),
    ("a list", b"[]", "plan"),
    ("null", b"null", "plan"),
    ("nested beyond bounds", b"[" * 200_000, "plan"),
    ("too long", b" " * 1_000_001, "plan"),
    ("digits beyond bounds", b'{"on_set": ' + b"9" * 5_000 + b"}", "plan"),
    ("NaN", as_text(GOOD).replace(b"0.98", b"NaN"), "plan"),
    ("Infinity", as_text(GOOD).replace(b"[9,", b"[Infinity,"), "plan"),
    ("unknown field", changed(("targets",), 0.9), "targets"),
    ("unknown field of two lines", changed(("a\nb",), 1), '"a\\nb"'),
    ("unknown inner field", changed(("log", "torn"), 1), "log.torn"),
    ("unknown field of a day", changed(("days", 1, "copies"), 1), "days[1].copies"),
    ("the same field twice", as_text(GOOD).replace(b'"good"', b'"good": 1, "good"'), "good"),
    ("no target", without(("target",)), "target"),
    ("no arrivals", without(("arrivals",)), "arrivals"),
    ("no spoiled", without(("log", "spoiled")), "log.spoiled"),
    ("no date", without(("days", 1, "date")), "days[1].date"),
    ("target 1", changed(("target",), 1), "target"),
    ("target 0", changed(("target",), 0), "target"),
    ("target in percent", changed(("target",), 98), "target"),
    ("target text", changed(("target",), "0.98"), "target"),
    ("target true", changed(("target",), True), "target"),
    ("target beyond floats", as_text(GOOD).replace(b"0.98", b"1e999"), "plan"),
    ("target a huge whole number", changed(("target",), 10**400), "target"),
    ("prior an object", changed(("prior",), {"a": 1, "b": 1}), "prior"),
    ("prior of one", changed(("prior",), [9]), "prior"),
    ("prior of three", changed(("prior",), [9, 1, 1]), "prior"),
    ("prior 0", changed(("prior", 1), 0), "prior[1]"),
    ("prior as good as 0", changed(("prior", 1), 5e-324), "prior[1]"),
    ("prior negative", changed(("prior", 0), -0.5), "prior[0]"),
    ("prior null", changed(("prior", 0), None), "prior[0]"),
    ("prior too heavy", changed(("prior", 0), 1e7), "prior[0]"),
    ("log a list", changed(("log",), [21, 2]), "log"),
    ("good negative", changed(("log", "good"), -1), "log.good"),
    ("good a fraction", changed(("log", "good"), 2.5), "log.good"),
    ("good true", changed(("log", "good"), True), "log.good"),
    ("good beyond bounds", changed(("log", "good"), 10**9), "log.good"),
    ("on_set text", changed(("on_set",), "6"), "on_set"),
    ("on_set a float", changed(("on_set",), 6.0), "on_set"),
    ("on_set negative", changed(("on_set",), -6), "on_set"),
    ("on_set beyond bounds", changed(("on_set",), 10**6), "on_set"),
    ("arrivals an object", changed(("arrivals",), {}), "arrivals"),
    ("an arrival that is a number", changed(("arrivals", 0), 4), "arrivals[0]"),
    ("an arrival of less than none", changed(("arrivals", 0, "copies"), -4), "arrivals[0].copies"),
    ("too many arrivals", changed(("arrivals",), GOOD["arrivals"] * 2_001), "arrivals"),
    ("arrivals beyond bounds in all", changed(("arrivals", 0, "copies"), 20_000), "arrivals"),
    ("a date written the other way", changed(("days", 0, "date"), "02.03.2026"), "days[0].date"),
    ("a date without dashes", changed(("days", 0, "date"), "20260302"), "days[0].date"),
    ("a week date", changed(("days", 0, "date"), "2026-W10-1"), "days[0].date"),
    ("a date with a time", changed(("days", 0, "date"), "2026-03-02T08:00"), "days[0].date"),
    ("a date with a line end", changed(("days", 0, "date"), "2026-03-02\n"), "days[0].date"),
    ("a date not in the calendar", changed(("days", 0, "date"), "2026-02-30"), "days[0].date"),
    ("a date in other digits", changed(("days", 0, "date"), "٢٠٢٦-٠٣-٠٢"), "days[0].date"),
    ("a date as a number", changed(("arrivals", 0, "date"), 20260302), "arrivals[0].date"),
    ("days out of order", changed(("days", 2, "date"), "2026-03-01"), "days[2].date"),
    ("a day twice", changed(("days", 2, "date"), "2026-03-03"), "days[2].date"),
    ("needed negative", changed(("days", 2, "copies_needed"), -1), "days[2].copies_needed"),
    ("needed null", changed(("days", 2, "copies_needed"), None), "days[2].copies_needed"),
    ("needed beyond bounds", changed(("days", 2, "copies_needed"), 1_001), "days[2].copies_needed"),
    ("too many days", changed(("days",), GOOD["days"] * 667), "days"),
]


@pytest.mark.parametrize(("text", "field"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_bad_input_is_refused_in_one_sentence_that_names_the_field(text: bytes, field: str) -> None:
    with pytest.raises(InvalidPlan) as refused:
        read_plan(text)
    assert refused.value.field == field
    sentence = str(refused.value)
    assert sentence.startswith(f"{field} ")
    assert sentence.endswith(".")
    assert len(sentence.splitlines()) == 1
