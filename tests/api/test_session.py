"""Signing in and out, the token that goes with it, and too many attempts."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.builders import PASSWORD, Account, Show, make_production, new_id, sign_up_head, table_counts

Json = dict[str, Any]


def test_signed_out_is_said_in_the_same_shape(db: None) -> None:
    answer = Account().get("/api/session")
    assert answer.status == 200
    assert answer.body["answer"] == "session"
    assert answer.body["signed_in"] is False
    assert (answer.body["user"], answer.body["productions"]) == (None, [])
    assert answer.body["csrf"]


def test_in_and_out(show: Show) -> None:
    account = Account()
    body = account.sign_in(show.set_artist.username)
    assert body["user"]["username"] == show.set_artist.username
    assert body["may_create_productions"] is False
    assert [(each["role"], each["crew"]) for each in body["productions"]] == [
        ("set_artist", show.set_artist.crew)
    ]
    assert account.raw("DELETE", "/api/session", b"").body["signed_in"] is False
    assert account.get(show.head.path("changes")).body["code"] == "signed_out"


@pytest.mark.parametrize("password", ["", "wrong", PASSWORD.upper(), PASSWORD + " "])
def test_a_wrong_password(show: Show, password: str) -> None:
    answer = Account().post("/api/session", {"username": show.shop.username, "password": password})
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (401, "wrong_password", False)


def test_a_name_that_does_not_exist_answers_the_same(show: Show) -> None:
    answers = [
        Account().post("/api/session", {"username": name, "password": "wrong"})
        for name in (show.shop.username, "nobody")
    ]
    assert answers[0].content == answers[1].content


def test_too_many_attempts(show: Show) -> None:
    account = Account()
    wrong = {"username": show.shop.username, "password": "wrong"}
    codes = [account.post("/api/session", wrong).body["code"] for _ in range(10)]
    assert codes[:3] == ["wrong_password"] * 3
    assert codes[-1] == "too_many_attempts"
    right = account.post("/api/session", {**wrong, "password": PASSWORD})
    assert (right.status, right.body["code"], right.body["retryable"]) == (429, "too_many_attempts", True)
    # Nobody else is shut out by it.
    assert Account().sign_in(show.set_artist.username)["signed_in"]


def test_every_write_needs_the_token(show: Show) -> None:
    account = Account(enforce_csrf_checks=True)
    token = account.get("/api/session").body["csrf"]
    sign_in = f'{{"username": "{show.head.username}", "password": "{PASSWORD}"}}'.encode()
    refused = account.raw("POST", "/api/session", sign_in)
    assert (refused.status, refused.body["code"], refused.body["retryable"]) == (403, "csrf_failed", True)
    signed_in = account.raw("POST", "/api/session", sign_in, X_CSRFToken=token)
    assert signed_in.status == 200
    token = signed_in.body["csrf"]
    path, writes = show.head.path, table_counts()
    for method, address, content_type in (
        ("POST", "/api/productions", "application/json"),
        ("POST", path("entries"), "application/json"),
        ("POST", path("crew"), "application/json"),
        ("PATCH", path(f"crew/{show.shop.crew}"), "application/json"),
        ("PUT", path(f"files/{'a' * 64}"), "application/octet-stream"),
        ("POST", path("unsent"), "application/x-ndjson"),
    ):
        for headers in ({}, {"X_CSRFToken": "x" * 64}, {"X_CSRFToken": ""}):
            answer = account.raw(method, address, b"{}", content_type, **headers)
            assert (answer.status, answer.body["code"]) == (403, "csrf_failed"), address
    assert table_counts() == writes
    entry = show.head.entry("material", {"name": "Paste", "use": "adhesive"})
    sent = account.raw(
        "POST",
        path("entries"),
        json.dumps({"device": new_id(), "entries": [entry]}).encode(),
        X_CSRFToken=token,
    )
    assert sent.body["results"][0]["result"] == "stored"


def test_who_may_make_a_production(show: Show) -> None:
    before = table_counts()
    answer = show.set_artist.account.post("/api/productions", {"id": new_id(), "name": "Mine"})
    assert (answer.status, answer.body["code"]) == (403, "not_allowed")
    assert table_counts() == before


def test_a_production_is_made_once(db: None) -> None:
    account, _ = sign_up_head()
    production, _ = make_production(account)
    before = table_counts()
    again = account.post("/api/productions", {"id": production, "name": "Again"})
    assert (again.status, again.body["code"]) == (409, "record_exists")
    assert table_counts() == before


@pytest.mark.parametrize("path", ["nowhere", "productions/not-an-id/entries", "productions//changes"])
def test_an_address_that_does_not_exist(show: Show, path: str) -> None:
    answer = show.head.account.get(f"/api/{path}")
    assert (answer.status, answer.body["code"]) == (404, "not_found")


@pytest.mark.parametrize(
    ("method", "rest"),
    [("GET", "entries"), ("POST", "changes"), ("DELETE", "crew"), ("PUT", "cover"), ("GET", "unsent")],
)
def test_a_method_that_is_not_for_this_address(show: Show, method: str, rest: str) -> None:
    answer = show.head.account.raw(method, show.head.path(rest), b"")
    assert (answer.status, answer.body["code"]) == (405, "method_not_allowed")


@pytest.mark.parametrize(
    "query", ["after=-1", "after=x", "after=1e3", "limit=0", "limit=1001", "after=" + "9" * 30]
)
def test_a_cursor_that_is_none(show: Show, query: str) -> None:
    answer = show.head.account.get(show.head.path(f"changes?{query}"))
    assert (answer.status, answer.body["code"]) == (422, "not_a_request")
    assert answer.body["field"] == query.partition("=")[0]
