"""Entries that cannot be: refused one by one, each with the field it is about, and nothing stored."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from continuity.sync.refusal import Code
from tests.api.test_codes import CODES
from tests.builders import HAPPENED_AT, Show, new_id, photo, table_counts
from tests.people.test_writers import WRITERS, new_document
from tests.photos.pictures import jpeg

Json = dict[str, Any]

NO_DATES = [
    "",
    "tomorrow",
    "2026-02-30",
    "2026-13-01",
    "25/11/2026",
    "0001-01-01",
    "9999-12-31",
    "0000-00-00",
    "20261125",
    "2026-11-25T05:00:00",
    20261125,
    -1,
    True,
    [],
    {},
]
NO_MOMENTS = [
    "",
    "now",
    "2026-11-25T05:00:00",
    "2026-11-25T25:00:00Z",
    "2026-11-25T05:00:00+99:00",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00",
    "0001-01-01T00:00:00Z",
    1764046800,
    True,
    [],
    {},
]
NO_IDS = ["", "not-an-id", 7, True, [], {}, "g" * 36, new_id()]
NO_TEXTS = [7, True, [], {}, "x" * 6000]
NO_NAMES = [*NO_TEXTS, "", "   "]
NO_COUNTS = [-1, 1.5, "3", True, 10**9, 10**30, [], {}]
NO_AMOUNTS = [-0.1, "3", True, 10**30, [], {}]
NO_CHOICES = ["", "nonsense", 7, True, [], {}, "HERO"]
NO_LISTS = [7, "text", {"a": 1}, ["not-an-id"], [7], [[]], [{}], [new_id()]]
NO_ITEMS = [
    7,
    "text",
    [],
    [{}],
    {"not-an-id": {}},
    {new_id(): {}},
    {new_id(): 7},
    {new_id(): {"surprise": 1}},
]
NO_POINTS = [
    7,
    "text",
    {},
    [7],
    [{}],
    [{"x": 0.5}],
    [{"x": 0.5, "y": 1.5}],
    [{"x": -0.1, "y": 0}],
    [[0.5, 0.5]],
]
NO_SPOTS = [
    *(7, "text", [], {}, {"x": 0.5, "y": 0.5}, {"x": 2, "y": 0.5, "radius": 0.1}),
    *({"x": 0.5, "y": 0.5, "radius": radius} for radius in (0, -1, 0.6, "1", True)),
]
NO_CARDS = [
    *(7, "text", [], {}, {"sort": "white"}, {"sort": "grey"}, {"sort": "patches_24"}),
    {"sort": "none", "spot": {"x": 0.5, "y": 0.5, "radius": 0.1}},
    {"sort": "patches_24", "corners": [{"x": 0.1, "y": 0.1}] * 3},
    {"sort": "grey", "corners": [{"x": 0.1, "y": 0.1}] * 4},
    *({"sort": "grey", "spot": spot} for spot in NO_SPOTS),
]
NO_CLOCKS = ["", "7:00", "24:00", "07:60", "07:00:00", 7, True, [], {}]

FIELDS: dict[str, dict[str, list[Any]]] = {
    "application": {
        "performer": NO_IDS,
        "look": NO_IDS,
        "date": NO_DATES,
        "artist": NO_IDS,
        "scenes": NO_LISTS,
        "copies": [*NO_ITEMS, {new_id(): {"copy_used": new_id()}}],
        "adhesives": [*NO_ITEMS, {new_id(): {"zone": "all", "material": new_id()}}],
        "edge_solvent": NO_IDS,
        "recipe": NO_IDS,
        "recipe_differences": NO_TEXTS,
        "sealer": NO_IDS,
        "started_at": NO_MOMENTS,
        "ready_at": NO_MOMENTS,
        "on_camera_at": NO_MOMENTS,
        "removed_at": NO_MOMENTS,
        "touch_ups": NO_ITEMS,
        "breaks": NO_ITEMS,
        "remover": NO_IDS,
        "copy_after": NO_TEXTS,
        "skin_after": NO_TEXTS,
        "photos": [
            *NO_ITEMS,
            *(
                {new_id(): photo(jpeg(), **change)}
                for change in (
                    {"size": 0},
                    {"size": -1},
                    {"size": 10**12},
                    {"sha256": "A" * 64},
                    {"sha256": "../../../etc/passwd"},
                    {"media_type": "image/svg+xml"},
                    {"media_type": "text/plain"},
                    {"angle": "upside_down"},
                    {"moment": "never"},
                    {"scene": new_id()},
                    {"story_day": 10**6},
                    {"taken_at": "0001-01-01T00:00:00Z"},
                )
            ),
        ],
        "overridden": [7, "text", [], {"x": {}}, {"x": {"words": "w", "at": "never"}}],
        "health_overridden": [7, "text", [], {"x": {}}, {"y" * 600: {"words": "w", "at": HAPPENED_AT}}],
        "note": NO_TEXTS,
    },
    "copy": {
        "appliance": NO_IDS,
        "serial": [7, True, "", "x" * 41, [], {}],
        "grade": NO_CHOICES,
        "state": NO_CHOICES,
        "cast_run": NO_IDS,
        "cast_on": NO_DATES,
        "use_by": NO_DATES,
        "expected_on": NO_DATES,
        "note": NO_TEXTS,
    },
    "material": {
        "name": NO_NAMES,
        "use": [*NO_CHOICES, "edge_solvent"],
        "solvent": [*NO_CHOICES, "alcohol"],
        "lot": NO_TEXTS,
        "expires_on": NO_DATES,
        "contains": [7, "latex", {"a": 1}, [7], [""], ["x"] * 51],
        "opened_on": NO_DATES,
        "opened_life_days": [*NO_COUNTS, 0],
        "pot_life_minutes": [*NO_AMOUNTS, 0, 1441],
        "pot_life_celsius": ["21", True, -21, 61, [], {}],
        "cure_minutes": [*NO_COUNTS, 0],
        "coat_dry_minutes": [*NO_COUNTS, 0],
        "amount": [*NO_AMOUNTS, 10],
        "unit": [*NO_CHOICES, "g"],
        "low_below": [*NO_AMOUNTS, 10],
        "amount_per_application": [*NO_AMOUNTS, 0, 10],
        "weighings": [
            *NO_ITEMS,
            {new_id(): {"left": -1, "weighed_on": "2026-11-25"}},
            {new_id(): {"left": 1, "weighed_on": "2026-11-25"}},
        ],
    },
    "recipe": {
        "name": NO_NAMES,
        "look": NO_IDS,
        "version": [*NO_COUNTS, 0],
        "previous": NO_IDS,
        "steps": [7, "text", {}, [], [7], [{}], [{"zone": "a", "mix": "b", "paint": new_id()}]],
    },
    "performer": {
        "name": NO_NAMES,
        "doubles": NO_IDS,
        "allergies": NO_ITEMS,
        "patch_tests": NO_ITEMS,
        "note": NO_TEXTS,
    },
    "unit": {"name": NO_NAMES, "surprise": [1]},
    "character": {"name": NO_NAMES, "performer": NO_IDS},
    "look": {
        "character": NO_IDS,
        "name": NO_NAMES,
        "progression": NO_TEXTS,
        "position": NO_COUNTS,
        "appliances": NO_LISTS,
        "chair_minutes": [*NO_COUNTS, 1441],
        "wanted_angles": [7, "front", {}, ["upside_down"], [7], ["front"] * 7],
        "established": NO_IDS,
        "established_reason": NO_TEXTS,
        "order_of_work": NO_TEXTS,
    },
    "verdict": {
        "application": NO_IDS,
        "verdict": NO_CHOICES,
        "against": NO_IDS,
        "note": NO_TEXTS,
        "pins": [
            *NO_ITEMS,
            {new_id(): {"sha256": "a" * 64, "x": 1.1, "y": 0, "words": "x"}},
            {new_id(): {"sha256": "a" * 63, "x": 0, "y": 0, "words": "x"}},
            {new_id(): {"sha256": "a" * 64, "x": 0, "y": 0, "words": "x" * 501}},
        ],
    },
    "photo_guide": {
        "sha256": [7, "", "a" * 63, "A" * 64, "../" * 21 + "a", [], {}],
        "eyes": [*NO_POINTS, [], [{"x": 0.5, "y": 0.5}], [{"x": 0.5, "y": 0.5}] * 3],
        "outline": [*NO_POINTS, [{"x": 0.5, "y": 0.5}] * 2, [{"x": 0.5, "y": 0.5}] * 61],
    },
    "colour_measurement": {
        "look": NO_IDS,
        "then": [7, "text", [], {"sha256": "a" * 64}, {"application": new_id(), "sha256": "b" * 64}],
        "now": [7, "text", [], *({"card": card} for card in NO_CARDS), {"align": [{"x": 0.1, "y": 0.1}] * 2}],
        "patches": [
            *NO_ITEMS,
            {new_id(): {"role": "nose", "name": "x", "then": {}, "now": {}}},
            *({new_id(): {"role": "skin", "name": "x", "then": spot, "now": spot}} for spot in NO_SPOTS),
        ],
        "note": NO_TEXTS,
    },
    "scene": {
        "number": [7, True, "", "x" * 21, [], {}],
        "story_day": [1.5, "3", True, 10**6, -(10**6), [], {}],
        "position": NO_COUNTS,
        "interior_exterior": NO_CHOICES,
        "day_night": NO_CHOICES,
        "page_eighths": [*NO_COUNTS, 801],
        "synopsis": NO_TEXTS,
        "worn": [7, "text", {}, [7], [{}], [{"character": new_id()}]],
    },
    "shoot_day": {
        "date": NO_DATES,
        "unit": NO_IDS,
        "crew_call": NO_CLOCKS,
        "wrap": NO_CLOCKS,
        "scenes": [7, "text", {}, [7], [{}], [{"scene": new_id()}]],
        "calls": [7, "text", {}, [7], [{}], [{"performer": new_id(), "time": "06:00"}]],
    },
    "appliance": {
        "name": NO_NAMES,
        "performer": NO_IDS,
        "grade": NO_CHOICES,
        "encapsulator": [*NO_CHOICES, "foam_latex"],
        "edge_solvent": [*NO_CHOICES, "acetone"],
        "copies_per_application": [*NO_COUNTS, 0, 51],
        "wear_limit_minutes": [*NO_COUNTS, 0, 2881],
        "shelf_life_days": [*NO_COUNTS, 0],
        "copy_grams": [*NO_AMOUNTS, 0],
        "parts_a": [*NO_AMOUNTS, 0, 101],
        "parts_b": [*NO_AMOUNTS, 0, 101],
        "deadener_parts": [*NO_AMOUNTS, 101],
        "area_square_centimetres": [*NO_AMOUNTS, 0],
        "coats_in_mould": [*NO_COUNTS, 21],
        "coats_on_back": [*NO_COUNTS, 21],
        "coat_millilitres_per_100_square_centimetres": [*NO_AMOUNTS, 0],
        "cap_plastic_parts": [*NO_AMOUNTS, 0],
        "alcohol_parts": [*NO_AMOUNTS, 101],
        "intrinsic_colour": [
            7,
            "text",
            {},
            [7],
            [{}],
            *(
                [{"colour": "Blue", "amount": 1, "unit": "drops", "per_grams": 100, "into": "a", **change}]
                for change in (
                    {"colour": ""},
                    {"amount": 0},
                    {"unit": "buckets"},
                    {"per_grams": 0},
                    {"into": "c"},
                    {"surprise": 1},
                )
            ),
        ],
        "gel": NO_IDS,
    },
    "mould": {
        "name": NO_NAMES,
        "appliances": [*NO_LISTS, []],
        "cavities": [*NO_COUNTS, 0],
        "cycle_minutes": [*NO_COUNTS, 0],
    },
    "cast_run": {
        "mould": NO_IDS,
        "appliance": NO_IDS,
        "cast_on": [*NO_DATES, "2026-11-21"],
        "due_on": [*NO_DATES, "2026-11-19"],
        "copies_planned": [*NO_COUNTS, 0],
        "good": NO_COUNTS,
        "rejected": [*NO_ITEMS, {new_id(): {"copies": 0, "why": "x"}}],
        "order": NO_IDS,
        "started_at": NO_MOMENTS,
        "temperature_celsius": ["21", True, -21, 61, [], {}],
        "pours": [
            7,
            "text",
            [],
            {"not-an-id": {}},
            *({new_id(): pour} for pour in (7, {"surprise": 1}, {"a_grams": -1}, {"poured_at": "now"})),
        ],
        "lots": [*NO_ITEMS, {new_id(): {"material": new_id()}}],
        "timers": [
            *NO_ITEMS,
            {new_id(): {"what": "Cure", "minutes": 0, "started_at": HAPPENED_AT}},
            {new_id(): {"what": "", "minutes": 5, "started_at": HAPPENED_AT}},
            {new_id(): {"what": "Cure", "minutes": 5}},
        ],
        "cavities": [
            *NO_ITEMS,
            *(
                {new_id(): {"cavity": 1, "result": "good", **change}}
                for change in (
                    {"cavity": 0},
                    {"result": "superb"},
                    {"result": "rejected"},
                    {"result": "rejected", "why": "sneezed_on"},
                    {"result": "rejected", "why": "bubble", "copy_cast": new_id()},
                    {"grade": "HERO"},
                    {"copy_cast": new_id()},
                )
            ),
        ],
    },
    "order": {
        "appliance": NO_IDS,
        "raised_by": NO_CHOICES,
        "grade": NO_CHOICES,
        "mould": NO_IDS,
        "copies": [*NO_COUNTS, 0],
        "pours": [*NO_COUNTS, 0],
        "needed_on": NO_DATES,
        "latest_start": NO_DATES,
        "possible": [7, "yes", [], {}],
        "p_covered_now": [-0.1, 1.1, "1", True, [], {}],
        "why": NO_TEXTS,
        "state": [*NO_CHOICES, "Made"],
        "expected_on": NO_DATES,
        "question": [7, "text", [], {}, {"copies": -1}, {"copies": 3, "needed_on": "2026-12-04", "why": "x"}],
        "answer": NO_CHOICES,
        "note": NO_TEXTS,
    },
    "count": {
        "appliance": NO_IDS,
        "copies": [
            *NO_ITEMS,
            {new_id(): {}},
            {new_id(): {"held_as": "eaten", "found": True}},
            {new_id(): {"held_as": "on_set", "found": "yes"}},
        ],
    },
    "parcel": {
        "order": NO_IDS,
        "copies": [*NO_ITEMS, {new_id(): {"arrived": "eaten"}}],
        "packed_on": NO_DATES,
        "sent_at": NO_MOMENTS,
        "expected_on": NO_DATES,
        "by": NO_TEXTS,
        "received_at": NO_MOMENTS,
        "note": NO_TEXTS,
    },
}


def _assert_all_refused(results: list[Json]) -> None:
    for result in results:
        assert result["result"] == "refused", result
        assert result["code"] in CODES
        assert (result["status"], result["retryable"]) == CODES[result["code"]]
        assert result["message"]


def test_every_kind_is_tried() -> None:
    assert FIELDS.keys() == WRITERS.keys()


@pytest.mark.parametrize("kind", FIELDS)
def test_fields_that_hold_what_they_cannot(show: Show, kind: str) -> None:
    good = new_document(show, kind)
    bad = [
        (name, show.head.entry(kind, {**good, name: value}))
        for name, values in FIELDS[kind].items()
        for value in values
    ]
    before = table_counts()
    results: list[Json] = []
    for first in range(0, len(bad), 500):
        results += show.head.send(*(entry for _, entry in bad[first : first + 500]))
    _assert_all_refused(results)
    for (name, entry), result in zip(bad, results, strict=True):
        assert result["code"] in {"not_a_document", "unknown_reference"}, (name, entry, result)
    assert table_counts() == before
    assert show.head.send(show.head.entry(kind, good))[0]["result"] == "stored"


@pytest.mark.parametrize("kind", FIELDS)
def test_an_edit_that_would_leave_it_broken_is_refused_too(show: Show, kind: str) -> None:
    first = show.head.entry(kind, new_document(show, kind))
    show.head.send_ok(first)
    stored = show.head.record(first["record"])
    before = table_counts()
    bad = [
        show.head.edit(first, {name: value}) for name, values in FIELDS[kind].items() for value in values[:4]
    ]
    _assert_all_refused(show.head.send(*bad))
    assert table_counts() == before
    assert show.head.record(first["record"]) == stored


@pytest.mark.parametrize("kind", FIELDS)
def test_a_required_field_is_missing(show: Show, kind: str) -> None:
    before = table_counts()
    results = show.head.send(show.head.entry(kind, {}), show.head.entry(kind, {"surprise": 1}))
    assert {result["code"] for result in results} == {"not_a_document"}
    assert all(result["field"] for result in results)
    assert table_counts() == before


def _bad_envelopes(show: Show) -> Iterator[Any]:
    good = show.head.entry("material", {"name": "X", "use": "paint"})
    values: dict[str, list[Any]] = {
        "id": [None, 7, "", "not-an-id", True, [], {}],
        "record": [None, 7, "", "not-an-id", True, [], {}],
        "based_on": [7, "", "not-an-id", True, [], {}],
        "seen": [None, -1, 1.5, "3", True, 2**70],
        "happened_at": [None, *NO_MOMENTS],
        "made_by": [None, 7, "", "not-an-id", True, [], {}, new_id()],
        "patch": [None, 7, "text", True, [], [{}]],
        "kind": [None, 7, "", "nonsense", "x" * 100, True, [], {}, "Material", "__class__"],
        "withdrawn": [7, "", "x" * 5001, True, [], {}],
        "surprise": [1],
    }
    for name, wrong in values.items():
        for value in wrong:
            yield {**good, name: value}
    for name in ("id", "record", "happened_at", "made_by", "patch", "kind"):
        yield {other: value for other, value in good.items() if other != name}
    yield from (None, 7, "text", True, [], {}, [good])


def test_what_is_no_entry(show: Show) -> None:
    bad = list(_bad_envelopes(show))
    before = table_counts()
    answer = show.head.post_entries(bad)
    assert answer.status == 200
    results = answer.body["results"]
    assert len(results) == len(bad)
    _assert_all_refused(results)
    assert {result["code"] for result in results} == {"not_a_request", "unknown_reference", "unknown_kind"}
    assert table_counts() == before


def test_every_refusal_of_an_entry_has_a_status_of_its_code(show: Show) -> None:
    results = show.head.post_entries(list(_bad_envelopes(show))).body["results"]
    assert all(result["status"] == Code[result["code"]].status for result in results)


def test_a_held_edit_may_hold_anything_and_harms_nothing(show: Show) -> None:
    """It cannot be judged before its record comes; then it does not fit, and is shown."""
    first = show.head.entry("material", {"name": "X", "use": "paint"})
    strange: list[Json] = [
        {"name": 10**300},
        {"name": {"a": [[[]]] * 50}},
        {"surprise": "x" * 100_000},
        {"use": "edge_solvent"},
        {"": 1},
    ]
    edits = [show.head.edit(first, patch) for patch in strange]
    assert {result["result"] for result in show.head.send(*edits)} == {"held"}
    assert show.head.send(first)[0]["result"] == "stored"
    assert show.head.record(first["record"])["document"]["name"] == "X"
    assert {conflict["entry"] for conflict in show.head.conflicts()} == {edit["id"] for edit in edits}


def test_numbers_and_serials_that_are_taken(show: Show) -> None:
    copy = {**new_document(show, "copy"), "serial": "B1"}
    scene = {**new_document(show, "scene"), "number": "42"}
    day = {**new_document(show, "shoot_day"), "date": "2026-11-26"}
    before = table_counts()
    results = show.head.send(
        show.head.entry("copy", copy), show.head.entry("scene", scene), show.head.entry("shoot_day", day)
    )
    assert [result["code"] for result in results] == ["serial_taken", "number_taken", "already_planned"]
    assert table_counts() == before
