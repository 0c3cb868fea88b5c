"""Taking in what devices have written. Every entry that can be read is stored exactly once, or kept as a
conflict, or held until the entry it is based on comes; anything else is refused with a code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction

from continuity.people.models import Membership
from continuity.schedule.models import Production
from continuity.sync.desk import SERVER_DEVICE, Desk
from continuity.sync.document import Document
from continuity.sync.door import Push, bring_in
from continuity.sync.entry import SentEntry, read_entry
from continuity.sync.entry_result import EntryResult, refused
from continuity.sync.models import Record
from continuity.sync.refusal import Refusal


def accept_entries(
    *, production_id: UUID, sender: Membership, device: UUID, entries: Sequence[Any]
) -> list[EntryResult]:
    """Take in entries in the order given, each on its own: one that is refused leaves the others standing.

    Returns one result an entry, in the same order. All are committed together before it returns.
    """
    push = Push(sender, device, [_try_to_read(raw) for raw in entries])
    bring_in(production_id, push)
    return push.results


def write_server_record(
    *, production_id: UUID, by: Membership, kind: str, record: UUID, document: Document
) -> None:
    """Write a record that the server makes itself (the crew, a conflict, a new production)."""
    with transaction.atomic():
        desk = Desk(production_id)
        desk.turn_to(by, SERVER_DEVICE)
        desk.write_own(kind, record, document)
        desk.write()


def restate_records(*, production_id: UUID, derived: dict[UUID, dict[str, Any]]) -> None:
    """Change what the server says about records, and tell every phone."""
    with transaction.atomic():
        production = Production.objects.select_for_update().get(id=production_id)
        for record in Record.objects.filter(production_id=production_id, id__in=derived):
            production.last_seq += 1
            record.derived = {**record.derived, **derived[record.id]}
            record.seq = production.last_seq
            record.save(update_fields=["derived", "seq"])
        production.save(update_fields=["last_seq"])


def _try_to_read(raw: Any) -> SentEntry | EntryResult:
    try:
        return read_entry(raw)
    except Refusal as refusal:
        claimed = raw.get("id") if isinstance(raw, dict) else None
        try:
            entry_id = UUID(claimed) if isinstance(claimed, str) else None
        except ValueError:
            entry_id = None
        return refused(entry_id, refusal)
