"""Writing entries the way phones do: ids minted from the moment, edits based on the entry before."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from continuity.people.models import Membership
from continuity.sync.document import Document
from continuity.sync.merge import apply_merge_patch

Json = dict[str, Any]


def mint(moment: datetime.datetime, name: str) -> UUID:
    """The UUIDv7 (RFC 9562, section 5.7) of this moment whose random bits are worked out from a name."""
    digest = int.from_bytes(hashlib.sha256(f"{moment.isoformat()} {name}".encode()).digest()[:10], "big")
    milliseconds = int(moment.timestamp() * 1000)
    bits = milliseconds << 80 | digest
    bits = bits & ~(0xF << 76) | 0x7 << 76
    bits = bits & ~(0x3 << 62) | 0x2 << 62
    return UUID(int=bits)


@dataclass
class EntryBook:
    """Everything that will be sent. ``ids`` and ``documents`` are found by (kind, key)."""

    crew: dict[str, Membership]
    ids: dict[tuple[str, str], UUID] = field(default_factory=dict)
    documents: dict[tuple[str, str], Json] = field(default_factory=dict)
    _last: dict[UUID, UUID] = field(default_factory=dict)
    _entries: list[tuple[datetime.datetime, str, Json]] = field(default_factory=list)

    def id(self, kind: str, key: str) -> UUID:
        """The record written under this key. Raises KeyError when there is none."""
        return self.ids[kind, key]

    def create(self, kind: str, key: str, by: str, at: datetime.datetime, document: Document) -> UUID:
        """A new record, written by the account ``by``."""
        if (kind, key) in self.ids:
            raise ValueError(f"There are two of {kind} {key}.")
        record = self.ids[kind, key] = mint(at, f"{kind} {key}")
        self.documents[kind, key] = document.to_json()
        self._write(kind, record, by, at, document.to_json())
        return record

    def edit(self, kind: str, key: str, by: str, at: datetime.datetime, patch: Json) -> None:
        """A later edit of it, as a JSON Merge Patch."""
        self.documents[kind, key] = apply_merge_patch(self.documents[kind, key], patch)
        self._write(kind, self.ids[kind, key], by, at, patch)

    def in_order(self) -> list[tuple[str, Json]]:
        """Who sends what, from the first written to the last."""
        return [(by, entry) for _, by, entry in sorted(self._entries, key=lambda written: written[0])]

    def _write(self, kind: str, record: UUID, by: str, at: datetime.datetime, patch: Json) -> None:
        before = self._last.get(record)
        entry = mint(at, f"entry {record} {before}")
        self._last[record] = entry
        written = {
            "id": str(entry),
            "kind": kind,
            "record": str(record),
            "based_on": str(before) if before else None,
            "happened_at": at.isoformat(),
            "made_by": str(self.crew[by].id),
            "patch": patch,
        }
        self._entries.append((at, by, written))
