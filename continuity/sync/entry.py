"""An entry as a phone sends it, read and bounded."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import Annotated, Any
from uuid import UUID

from pydantic import Field, ValidationError

from continuity.sync.document import Moment, Part
from continuity.sync.refusal import Code, Refusal


class SentEntry(Part):
    """One thing written on a device. ``based_on`` is the entry the writer's copy of the record ended with,
    None for a new record; ``seen`` is the place in the feed up to which the record had been read;
    ``patch`` is a JSON Merge Patch (RFC 7396); ``withdrawn`` takes the record back and says why."""

    id: UUID
    kind: Annotated[str, Field(max_length=40)]
    record: UUID
    based_on: UUID | None = None
    seen: Annotated[int, Field(ge=0, lt=2**62)] = 0
    happened_at: Moment
    made_by: UUID
    patch: dict[str, Any]
    withdrawn: Annotated[str, Field(min_length=1, max_length=5000)] | None = None

    def sha256(self) -> str:
        """The hash of the entry's content, whatever order or spacing it was sent in."""
        canonical = json.dumps(self.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(canonical.encode()).hexdigest()

    def ids_in_patch(self) -> Iterator[UUID]:
        """Every text in the patch that is an id, to be looked up together."""
        return _ids_in(self.patch)


def _ids_in(value: Any) -> Iterator[UUID]:
    if isinstance(value, dict):
        for member in value.values():
            yield from _ids_in(member)
    elif isinstance(value, list):
        for member in value:
            yield from _ids_in(member)
    elif isinstance(value, str) and len(value) == 36:
        try:
            yield UUID(value)
        except ValueError:
            return


def read_entry(raw: Any) -> SentEntry:
    """The entry in ``raw``. Raises `Refusal` (not_a_request) naming the first field that cannot be read."""
    try:
        return SentEntry.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        words, path = described(error)
        raise Refusal(Code.not_a_request, words, field=path) from None


def described(error: ValidationError) -> tuple[str, str]:
    """The first fault pydantic found as a sentence, and the path of the field it is about."""
    fault = error.errors(include_url=False, include_input=False)[0]
    path = ".".join(str(part) for part in fault["loc"] if part != "[key]")
    words = fault["msg"].removeprefix("Value error, ")
    return f"{path or 'It'}: {words}.", path
