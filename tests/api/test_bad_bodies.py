"""Whatever is sent to a write: a 4xx with a listed code, nothing stored, never a fault of the server."""

from __future__ import annotations

import json
from typing import Any

import pytest

from continuity.sync.refusal import Code
from tests.api.test_codes import CODES
from tests.builders import Account, Answer, Show, new_id, table_counts

Json = dict[str, Any]

JSON_WRITES = ("session", "productions", "crew", "crew_change", "entries", "what_if")


def _address(show: Show, write: str) -> tuple[str, str]:
    path = show.head.path
    return {
        "session": ("POST", "/api/session"),
        "productions": ("POST", "/api/productions"),
        "crew": ("POST", path("crew")),
        "crew_change": ("PATCH", path(f"crew/{show.shop.crew}")),
        "entries": ("POST", path("entries")),
        "what_if": ("POST", path("cover/what-if")),
    }[write]


def _good(show: Show, write: str) -> Json:
    bodies: dict[str, Json] = {
        "session": {"username": "nobody", "password": "wrong"},
        "productions": {"id": new_id(), "name": "Mine", "time_zone": "Europe/Paris"},
        "crew": {"username": "new", "name": "New", "password": "spirit and water 8", "role": "shop"},
        "crew_change": {"name": "New", "role": "continuity", "active": False},
        "entries": {
            "device": new_id(),
            "entries": [show.head.entry("material", {"name": "X", "use": "paint"})],
        },
        "what_if": {"changes": [{"change": "lose_copies", "appliance": show.appliance, "copies": 1}]},
    }
    return bodies[write]


def _send(show: Show, write: str, body: bytes, content_type: str = "application/json") -> Answer:
    account = Account() if write == "session" else show.head.account
    method, path = _address(show, write)
    return account.raw(method, path, body, content_type)


def assert_refused(answer: Answer) -> None:
    assert 400 <= answer.status < 500, answer.content[:300]
    assert answer.body["code"] in CODES
    assert answer.status == Code[answer.body["code"]].status
    assert answer.body["message"]


BODIES: dict[str, bytes] = {
    "empty": b"",
    "spaces": b"   ",
    "not JSON": b"{name: 1}",
    "cut off": b'{"entries": [',
    "an array": b"[]",
    "a text": b'"text"',
    "a number": b"7",
    "null": b"null",
    "an empty object in an array": b"[{}]",
    "NaN": b'{"a": NaN}',
    "infinity": b'{"a": -Infinity}',
    "a number beyond all bounds": b'{"a": 1e999}',
    "an integer of 5000 digits": b'{"a": ' + b"9" * 5000 + b"}",
    "a lone surrogate": b'{"a": "\\ud800"}',
    "a lone surrogate as a name": b'{"\\udfff": 1}',
    "NUL": b'{"a": "\\u0000"}',
    "duplicate members": b'{"a": 1, "a": 2}',
    "deep nesting": b'{"a":' * 40 + b"1" + b"}" * 40,
    "very deep nesting": b"[" * 100_000 + b"]" * 100_000,
    "not UTF-8": b'{"a": "\xff\xfe"}',
    "UTF-16": '{"a": 1}'.encode("utf-16"),
    "unknown members": b'{"surprise": 1}',
    "10 MB of text": b'{"a": "' + b"x" * 10_000_000 + b'"}',
}


@pytest.mark.parametrize("write", JSON_WRITES)
def test_bodies_that_are_no_request(show: Show, write: str) -> None:
    before = table_counts()
    for name, body in BODIES.items():
        answer = _send(show, write, body)
        assert_refused(answer)
        assert table_counts() == before, name


@pytest.mark.parametrize("write", JSON_WRITES)
def test_a_content_type_that_is_not_json(show: Show, write: str) -> None:
    before = table_counts()
    body = json.dumps(_good(show, write)).encode()
    form = "multipart/form-data; boundary=x"
    for content_type in ("text/plain", "application/x-www-form-urlencoded", form, "image/jpeg", "nonsense"):
        answer = _send(show, write, body, content_type)
        assert_refused(answer)
        assert answer.status in {400, 415, 422}, content_type
        assert table_counts() == before


def test_a_huge_form_without_a_token(show: Show) -> None:
    account = Account(enforce_csrf_checks=True)
    account.client.cookies.update(show.head.account.client.cookies)
    body = b"a=" + b"x" * 10_000_000
    answer = account.raw("POST", show.head.path("entries"), body, "application/x-www-form-urlencoded")
    assert_refused(answer)


WRONG: list[Any] = [None, 7, -1, 1.5, True, "", "x" * 2000, [], [[]], {}, {"a": 1}, 10**30]
# What in the table above is no fault at all, or leaves the member out.
NOT_WRONG: set[tuple[str, str, str]] = {
    ("crew_change", "name", "null"),
    ("crew_change", "role", "null"),
    ("crew_change", "active", "null"),
    ("crew_change", "active", "true"),
    ("entries", "entries", "[]"),
}


@pytest.mark.parametrize("write", JSON_WRITES)
def test_members_of_the_wrong_type_or_missing(show: Show, write: str) -> None:
    good = _good(show, write)
    bad: list[Json] = []
    for name in good:
        bad += [{**good, name: value} for value in WRONG if (write, name, json.dumps(value)) not in NOT_WRONG]
    if write != "crew_change":
        required = [name for name in good if name != "time_zone"]
        bad += [{other: good[other] for other in good if other != name} for name in required]
    bad.append({**good, "surprise": 1})
    before = table_counts()
    for body in bad:
        answer = _send(show, write, json.dumps(body).encode())
        if write == "entries" and answer.status == 200:
            # The list was one; what is in it is judged one by one.
            assert {result["code"] for result in answer.body["results"]} == {"not_a_request"}
        else:
            assert_refused(answer)
        assert table_counts() == before, body


def test_the_good_ones_are_good(show: Show) -> None:
    """Otherwise the tests above would say nothing."""
    for write, status in (("productions", 201), ("crew", 201), ("crew_change", 200), ("entries", 200)):
        answer = _send(show, write, json.dumps(_good(show, write)).encode())
        assert answer.status == status, answer.body


@pytest.mark.parametrize(
    "change",
    [
        {"id": "not-an-id"},
        {"time_zone": "Europe/Atlantis"},
        {"time_zone": "../../etc/passwd"},
        {"name": " " * 10},
        {"name": "x" * 201},
    ],
)
def test_productions_that_cannot_be(show: Show, change: Json) -> None:
    before = table_counts()
    answer = show.head.account.post("/api/productions", {**_good(show, "productions"), **change})
    assert_refused(answer)
    assert answer.body["field"] == next(iter(change))
    assert table_counts() == before


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"role": "king"}, "not_a_request"),
        ({"username": "with space"}, "not_a_request"),
        ({"username": "a\nb"}, "not_a_request"),
        ({"username": "x" * 151}, "not_a_request"),
        ({"password": "short"}, "weak_password"),
        ({"password": "1234567890123"}, "weak_password"),
        ({"password": "password123"}, "weak_password"),
        ({"password": "x" * 1001}, "not_a_request"),
        ({"name": " "}, "not_a_request"),
    ],
)
def test_crew_that_cannot_be(show: Show, change: Json, code: str) -> None:
    before = table_counts()
    answer = show.head.account.post(show.head.path("crew"), {**_good(show, "crew"), **change})
    assert_refused(answer)
    assert (answer.body["code"], answer.body["field"]) == (code, next(iter(change)))
    assert table_counts() == before


def test_a_user_name_that_differs_in_case_only(show: Show) -> None:
    member = {**_good(show, "crew"), "username": show.shop.username.upper()}
    before = table_counts()
    assert show.head.account.post(show.head.path("crew"), member).body["code"] == "username_taken"
    assert table_counts() == before


@pytest.mark.parametrize("crew", ["not-an-id", "00000000-0000-0000-0000-000000000000"])
def test_a_crew_member_who_is_not_there(show: Show, crew: str) -> None:
    answer = show.head.account.patch(show.head.path(f"crew/{crew}"), {"role": "shop"})
    assert (answer.status, answer.body["code"]) == (404, "not_found")


def test_more_entries_than_go_in_one_push(show: Show) -> None:
    entries = [show.head.entry("material", {"name": "X", "use": "paint"}) for _ in range(501)]
    before = table_counts()
    answer = show.head.post_entries(entries)
    assert (answer.status, answer.body["code"]) == (422, "not_a_request")
    assert table_counts() == before
