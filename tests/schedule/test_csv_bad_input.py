"""What is not such a file, who may not hand one in, and where: a stable code, and nothing stored."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.contrib.auth.models import User

from tests.builders import Account, Json, Show, new_id, table_counts
from tests.schedule.csv_files import preview

SORTS = ("scenes", "shoot-days")
STEPS = ("preview", "confirm")
GOOD = {
    "scenes": "number,pages\n43,1\n",
    "shoot-days": "date,unit,crew call,wrap\n2026-12-01,Main,07:00,18:00\n",
}


def sent(step: str, text: str, digest: str = "0" * 64) -> Json:
    """The body of a preview, or of a confirmation."""
    return {"text": text, "digest": digest} if step == "confirm" else {"text": text}


@pytest.fixture(autouse=True)
def _nothing_is_stored(show: Show) -> Iterator[None]:
    before, counts = show.head.changes(), table_counts()
    yield
    assert show.head.changes() == before
    assert {name: count for name, count in table_counts().items() if counts[name] != count} == {}


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("what", SORTS)
@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        (b"", 422, "not_a_request"),
        (b"null", 422, "not_a_request"),
        (b"[]", 422, "not_a_request"),
        (b"{}", 422, "not_a_request"),
        (b'{"text": 7DIGEST}', 422, "not_a_request"),
        (b'{"text": nullDIGEST}', 422, "not_a_request"),
        (b'{"text": ["number", "43"]DIGEST}', 422, "not_a_request"),
        (b'{"text": {"number": "43"}DIGEST}', 422, "not_a_request"),
        (b'{"text": "number\\n43\\n"DIGEST, "more": 1}', 422, "not_a_request"),
        (b'{"text": "' + b"a" * 2_000_001 + b'"DIGEST}', 422, "not_a_request"),
        (b'{"text": "' + b"a" * 10_000_000 + b'"DIGEST}', 413, "too_large"),
        (b"number,pages\n43,1\n", 400, "not_json"),
        (b'{"text": "number\\u0000\\n43\\n"DIGEST}', 400, "not_json"),
        (b'{"text": "number\\ud800\\n43\\n"DIGEST}', 400, "not_json"),
        (b'{"text": "number\xff\xfe43"DIGEST}', 400, "not_json"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", 400, "not_json"),
        (b'{"text": NaNDIGEST}', 400, "not_json"),
        (b'{"text": "a", "text": "b"DIGEST}', 400, "not_json"),
        (b"[" * 100_000, 400, "not_json"),
    ],
)
def test_a_request_that_is_none(
    show: Show, what: str, step: str, body: bytes, status: int, code: str
) -> None:
    written = body.replace(b"DIGEST", b', "digest": "x"' if step == "confirm" else b"")
    answer = show.continuity.account.raw("POST", show.continuity.path(f"csv/{what}/{step}"), written)
    assert (answer.status, answer.body["code"]) == (status, code)
    if b'"text"' in body and status == 422:
        assert answer.body["field"] == ("more" if b"more" in body else "text")


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("what", SORTS)
@pytest.mark.parametrize(
    "text",
    [
        "",
        "\ufeff",
        "\n\n\n",
        "one,two\n1,2\n",
        "number,number\n43,43\n",
        "date,unit,date\n2026-12-01,Main,2026-12-01\n",
        'number\n"43\n',
        'date,unit\n"2026-12-01"x,Main\n',
        "pages\n1\n",
        "unit,wrap\nMain,18:00\n",
        "PK\x03\x04\x14 binary",
        "number\ncaf\ufffd\n",
        "number\n" + "43\n" * 3000,
        "x" * 1_999_999,
        "," * 1_999_999,
        '"' * 1_999_999,
        "# only a note\n",
        '{"number": "43"}',
        "<html><body>Sign in to the hotel's network</body></html>",
    ],
)
def test_a_text_that_is_no_such_file(show: Show, what: str, step: str, text: str) -> None:
    answer = show.continuity.account.post(show.continuity.path(f"csv/{what}/{step}"), sent(step, text))
    assert (answer.status, answer.body["code"], answer.body["field"]) == (422, "unreadable_file", "text")
    assert answer.body["message"].endswith(".")


@pytest.mark.parametrize("what", SORTS)
@pytest.mark.parametrize(
    ("digest", "status", "code"),
    [
        ("", 409, "stale_preview"),
        ("0" * 64, 409, "stale_preview"),
        ("é" * 64, 409, "stale_preview"),
        ("0" * 65, 422, "not_a_request"),
        (None, 422, "not_a_request"),
        (7, 422, "not_a_request"),
        (["0" * 64], 422, "not_a_request"),
    ],
)
def test_a_digest_that_is_not_the_previews(
    show: Show, what: str, digest: object, status: int, code: str
) -> None:
    answer = show.continuity.account.post(
        show.continuity.path(f"csv/{what}/confirm"), {"text": GOOD[what], "digest": digest}
    )
    assert (answer.status, answer.body["code"]) == (status, code)
    assert answer.body["field"] == "digest"


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("what", SORTS)
@pytest.mark.parametrize("role", ["set_artist", "shop"])
def test_only_continuity_and_the_head_hand_files_in(show: Show, role: str, what: str, step: str) -> None:
    seen = preview(show.continuity, what, GOOD[what])
    phone = show.phone(role)
    body = sent(step, GOOD[what], seen["digest"])
    answer = phone.account.post(phone.path(f"csv/{what}/{step}"), body)
    assert (answer.status, answer.body["code"]) == (403, "not_allowed")
    template = phone.account.get(phone.path(f"csv/{what}/template"))
    assert (template.status, template.body["code"]) == (403, "not_allowed")


@pytest.mark.parametrize("role", ["continuity", "department_head"])
@pytest.mark.parametrize("what", SORTS)
def test_continuity_and_the_head_may(show: Show, role: str, what: str) -> None:
    assert len(preview(show.phone(role), what, GOOD[what])["added"]) == 1


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("what", SORTS)
def test_signed_out(show: Show, what: str, step: str) -> None:
    answer = Account().post(show.head.path(f"csv/{what}/{step}"), sent(step, GOOD[what]))
    assert (answer.status, answer.body["code"]) == (401, "signed_out")


@pytest.mark.parametrize("what", SORTS)
def test_without_the_sessions_token(show: Show, what: str) -> None:
    account = Account(enforce_csrf_checks=True)
    account.client.force_login(User.objects.get(username=show.head.username))
    for step in STEPS:
        answer = account.post(show.head.path(f"csv/{what}/{step}"), sent(step, GOOD[what]))
        assert (answer.status, answer.body["code"]) == (403, "csrf_failed")


@pytest.mark.parametrize("what", SORTS)
def test_a_production_of_which_one_is_not(show: Show, what: str) -> None:
    for production in (new_id(), "00000000-0000-0000-0000-000000000000"):
        for step in STEPS:
            path = f"/api/productions/{production}/csv/{what}/{step}"
            answer = show.head.account.post(path, sent(step, GOOD[what]))
            assert (answer.status, answer.body["code"]) == (404, "not_found")


def test_a_file_of_something_else(show: Show) -> None:
    for what in ("looks", "SCENES", "scenes%00", "shoot_days", "x" * 500):
        for step in STEPS:
            answer = show.head.account.post(show.head.path(f"csv/{what}/{step}"), sent(step, "number\n43\n"))
            assert (answer.status, answer.body["code"]) == (404, "not_found")
        assert show.head.account.get(show.head.path(f"csv/{what}/template")).status == 404


def test_another_way_of_asking(show: Show) -> None:
    for step in STEPS:
        path = show.head.path(f"csv/scenes/{step}")
        answer = show.head.account.get(path)
        assert (answer.status, answer.body["code"]) == (405, "method_not_allowed")
        answer = show.head.account.raw("POST", path, b"number\n43\n", "text/csv")
        assert (answer.status, answer.body["code"]) == (415, "unsupported_media_type")
