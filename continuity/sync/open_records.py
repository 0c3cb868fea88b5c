"""The records a push reads and writes, read together before it and written together after it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from continuity.sync.document import Document
from continuity.sync.models import Record
from continuity.sync.registry import DocumentType
from continuity.sync.rows import Rows
from continuity.sync.selectors import document_of
from continuity.sync.statements import rows_with_keys, update_rows

CHANGES = ("document", "derived", "revision_id", "seq", "withdrawn")
"""What is written of a record that is there already."""


class OpenRecords:
    """Records by id, as they stand in the middle of a push. `write` sends what was saved to the database."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows
        self._found: dict[UUID, Record] = {}
        self._looked_for: set[UUID] = set()
        self._read: dict[UUID, tuple[dict[str, Any], Document]] = {}
        self._new: set[UUID] = set()
        self._changed: dict[UUID, Record] = {}

    def fetch(self, ids: set[UUID]) -> None:
        """Read these in one go, so that each need not be asked for by itself."""
        missing = ids - self._looked_for
        if missing:
            self._looked_for |= missing
            for record in rows_with_keys(Record, missing):
                self._found[record.id] = record

    def find(self, record_id: UUID) -> Record | None:
        """The record with this id, of whatever production; None when there is none."""
        if record_id not in self._looked_for:
            self.fetch({record_id})
        return self._found.get(record_id)

    def document(self, kind: type[DocumentType], record_id: UUID) -> DocumentType:
        """A record's document. Raises `LookupError` when there is no such record."""
        record = self.get(record_id)
        read = self._read.get(record_id)
        if read is None or read[0] is not record.document or not isinstance(read[1], kind):
            read = record.document, document_of(record, kind)
            self._read[record_id] = read
        found = read[1]
        assert isinstance(found, kind)  # noqa: S101 - for the type checker; it was read as one
        return found

    def derived(self, record_id: UUID) -> dict[str, Any]:
        """What the server says of a record. Raises `LookupError` when there is no such record."""
        derived: dict[str, Any] = self.get(record_id).derived
        return derived

    def save(self, record: Record, *, new: bool = False) -> None:
        """Have a record written, as it stands when `write` is called."""
        if new:
            self._found[record.id] = record
            self._looked_for.add(record.id)
            self._new.add(record.id)
            self._rows.add(record)
        elif record.id not in self._new:
            self._changed[record.id] = record

    def write(self) -> None:
        """Send to the database what was saved and is there already; what is new goes with the rows."""
        self._new.clear()
        if self._changed:
            update_rows(
                Record,
                CHANGES,
                {record.id: [getattr(record, name) for name in CHANGES] for record in self._changed.values()},
            )
            self._changed.clear()

    def get(self, record_id: UUID) -> Record:
        """The record with this id. Raises `LookupError` when there is none."""
        record = self.find(record_id)
        if record is None:
            raise LookupError(f"No record {record_id}.")
        return record
