"""What a device is told of each entry it has sent."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from continuity.sync.refusal import Refusal


@dataclass(frozen=True)
class EntryResult:
    """What became of one entry: "stored", "repeat", "conflict", "held" or "refused"."""

    id: UUID | None
    result: str
    status: int
    code: str = ""
    message: str = ""
    retryable: bool = False
    field: str | None = None
    revision: UUID | None = None


def refused(entry_id: UUID | None, refusal: Refusal) -> EntryResult:
    """The result of an entry that is not stored."""
    code = refusal.code
    return EntryResult(
        entry_id, "refused", code.status, code.name, refusal.message, code.retryable, refusal.field
    )
