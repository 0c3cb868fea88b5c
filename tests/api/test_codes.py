"""The codes of refusals are what a phone that was last updated a year ago goes by."""

from __future__ import annotations

import pytest

from continuity.sync.refusal import Code

# code: (HTTP status, retryable). Adding one is fine; renaming one or changing what it means is not.
CODES = {
    "body_mismatch": (409, False),
    "record_exists": (409, False),
    "serial_taken": (409, False),
    "number_taken": (409, False),
    "already_planned": (409, False),
    "recipe_is_fixed": (409, False),
    "collided": (409, False),
    "no_such_step": (409, False),
    "question_changed": (409, False),
    "in_another_parcel": (409, False),
    "wrong_offset": (409, True),
    "stale_preview": (409, False),
    "username_taken": (409, False),
    "address_taken": (409, False),
    "last_department_head": (409, False),
    "another_look": (422, False),
    "reason_missing": (422, False),
    "not_json": (400, False),
    "not_a_request": (422, False),
    "not_a_document": (422, False),
    "unknown_kind": (422, False),
    "unknown_reference": (422, False),
    "weak_password": (422, False),
    "hash_mismatch": (422, True),
    "unreadable_file": (422, False),
    "not_an_address": (422, False),
    "private_address": (422, False),
    "not_allowed": (403, False),
    "not_your_step": (403, False),
    "csrf_failed": (403, True),
    "signed_out": (401, True),
    "wrong_password": (401, False),
    "not_found": (404, False),
    "not_expected": (404, True),
    "not_ready": (404, True),
    "method_not_allowed": (405, False),
    "unsupported_media_type": (415, False),
    "too_large": (413, False),
    "too_many_attempts": (429, True),
    "server_busy": (503, True),
}

# Codes that are no longer sent. None of them may come back with another meaning.
GONE = {"unreadable_photo"}


@pytest.mark.parametrize("name", CODES)
def test_a_code_keeps_its_name_and_its_meaning(name: str) -> None:
    code = Code[name]
    assert (code.value[0], code.status, code.retryable) == (name, *CODES[name])


def test_every_code_is_listed_here() -> None:
    assert [code.name for code in Code if code.name not in CODES] == []


def test_no_code_that_is_gone_has_come_back() -> None:
    assert [code.name for code in Code if code.name in GONE] == []
