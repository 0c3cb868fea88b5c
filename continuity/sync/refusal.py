"""Every reason for which the server refuses something, each with a code that never changes its meaning.

``status`` is the HTTP status the code is told with; ``retryable`` says whether the same thing may
succeed later without anybody changing it.
"""

from __future__ import annotations

from enum import Enum


class Code(Enum):
    """name = (code as sent, HTTP status, retryable)"""

    body_mismatch = ("body_mismatch", 409, False)
    record_exists = ("record_exists", 409, False)
    serial_taken = ("serial_taken", 409, False)
    number_taken = ("number_taken", 409, False)
    already_planned = ("already_planned", 409, False)
    recipe_is_fixed = ("recipe_is_fixed", 409, False)
    collided = ("collided", 409, False)
    no_such_step = ("no_such_step", 409, False)
    question_changed = ("question_changed", 409, False)
    in_another_parcel = ("in_another_parcel", 409, False)
    wrong_offset = ("wrong_offset", 409, True)
    stale_preview = ("stale_preview", 409, False)
    username_taken = ("username_taken", 409, False)
    address_taken = ("address_taken", 409, False)
    last_department_head = ("last_department_head", 409, False)
    another_look = ("another_look", 422, False)
    reason_missing = ("reason_missing", 422, False)
    not_json = ("not_json", 400, False)
    not_a_request = ("not_a_request", 422, False)
    not_a_document = ("not_a_document", 422, False)
    unknown_kind = ("unknown_kind", 422, False)
    unknown_reference = ("unknown_reference", 422, False)
    weak_password = ("weak_password", 422, False)
    hash_mismatch = ("hash_mismatch", 422, True)
    unreadable_file = ("unreadable_file", 422, False)
    not_an_address = ("not_an_address", 422, False)
    private_address = ("private_address", 422, False)
    not_allowed = ("not_allowed", 403, False)
    not_your_step = ("not_your_step", 403, False)
    csrf_failed = ("csrf_failed", 403, True)
    signed_out = ("signed_out", 401, True)
    wrong_password = ("wrong_password", 401, False)
    not_found = ("not_found", 404, False)
    not_expected = ("not_expected", 404, True)
    not_ready = ("not_ready", 404, True)
    method_not_allowed = ("method_not_allowed", 405, False)
    unsupported_media_type = ("unsupported_media_type", 415, False)
    too_large = ("too_large", 413, False)
    too_many_attempts = ("too_many_attempts", 429, True)
    server_busy = ("server_busy", 503, True)

    @property
    def status(self) -> int:
        return self.value[1]

    @property
    def retryable(self) -> bool:
        return self.value[2]


class Refusal(Exception):
    """Something that cannot be done, told with a stable code, a sentence, and the field it is about."""

    def __init__(self, code: Code, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.field = field
