"""Taking in what devices have written. Every entry that can be read is stored exactly once, or kept as a
conflict, or held until the entry it is based on comes; anything else is refused with a code."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from pydantic import ValidationError
from uuid6 import uuid7

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.schedule.models import Production
from continuity.sync.document import Document
from continuity.sync.documents import CollidingField, ConflictDocument, ConflictSort
from continuity.sync.entry import SentEntry, described, read_entry
from continuity.sync.merge import Collision, Merged, apply_merge_patch, merge_stale_edit
from continuity.sync.models import Entry, Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, kinds

SERVER_DEVICE = UUID(int=0)
RECIPE_IS_FIXED = "A recipe version never changes; a change is a new version."


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


def accept_entries(
    *, production_id: UUID, sender: Membership, device: UUID, entries: Sequence[Any]
) -> list[EntryResult]:
    """Take in entries in the order given, each on its own: one that is refused leaves the others standing.

    Returns one result an entry, in the same order. All are committed together before it returns.
    """
    with transaction.atomic():
        desk = _Desk(production_id, sender, device)
        read = [_try_to_read(raw) for raw in entries]
        desk.look_up(entry for entry in read if isinstance(entry, SentEntry))
        return [desk.accept(entry) if isinstance(entry, SentEntry) else entry for entry in read]


def write_server_record(
    *, production_id: UUID, by: Membership, kind: str, record: UUID, document: Document
) -> None:
    """Write a record that the server makes itself (the crew, a conflict, a new production)."""
    with transaction.atomic():
        desk = _Desk(production_id, by, SERVER_DEVICE)
        desk.write_own(kind, record, document)


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


def refused(entry_id: UUID | None, refusal: Refusal) -> EntryResult:
    """The result of an entry that is not stored."""
    code = refusal.code
    return EntryResult(
        entry_id, "refused", code.status, code.name, refusal.message, code.retryable, refusal.field
    )


class _Desk:
    """One sitting at which entries are taken in, with the production's feed locked.

    The lock is held to the end of the transaction, so a reader of the feed can never pass a place whose
    entry has not been committed yet.
    """

    def __init__(self, production_id: UUID, sender: Membership, device: UUID) -> None:
        self.production = Production.objects.select_for_update().get(id=production_id)
        self.sender = sender
        self.role = Role(sender.role)
        self.device = device
        self.now = timezone.now()
        self.records: dict[UUID, Record] = {}
        self.looked_for: set[UUID] = set()
        self.known_entries: dict[UUID, Entry] = {}
        self.crew = {member.id: member for member in Membership.objects.filter(production_id=production_id)}

    # -- reading -----------------------------------------------------------------------------------

    def look_up(self, entries: Iterable[SentEntry]) -> None:
        """Read in one go what a batch will need, so that five hundred entries are not a thousand queries."""
        entries = list(entries)
        for known in Entry.objects.filter(id__in=[entry.id for entry in entries]):
            self.known_entries[known.id] = known
        wanted: set[UUID] = {entry.record for entry in entries}
        for entry in entries:
            wanted.update(_ids_in(entry.patch))
        self._fetch_records(wanted)

    def record(self, record_id: UUID) -> Record | None:
        if record_id not in self.looked_for:
            self._fetch_records({record_id})
        return self.records.get(record_id)

    def _fetch_records(self, ids: set[UUID]) -> None:
        missing = ids - self.looked_for
        self.looked_for |= missing
        for record in Record.objects.filter(id__in=missing):
            self.records[record.id] = record

    def _document_of(self, record_id: UUID) -> dict[str, Any]:
        record = self.record(record_id)
        if record is None:
            raise LookupError(f"No record {record_id}.")
        return dict(record.document)

    # -- one entry ---------------------------------------------------------------------------------

    def accept(self, sent: SentEntry) -> EntryResult:
        known = self.known_entries.get(sent.id)
        if known:
            return self._answer_again(known, sent)
        try:
            with transaction.atomic():
                return self._accept_new(sent)
        except Refusal as refusal:
            self._forget()
            return refused(sent.id, refusal)
        except IntegrityError:
            # A constraint has the last word on what a check above could not foresee.
            self._forget()
            return refused(sent.id, Refusal(Code.collided, "It cannot stand beside what is stored already."))

    def _forget(self) -> None:
        """After a roll-back what was read and numbered meanwhile is read again."""
        self.records.clear()
        self.looked_for.clear()
        self.production.refresh_from_db(fields=["last_seq"])

    def _answer_again(self, known: Entry, sent: SentEntry) -> EntryResult:
        if known.production_id != self.production.id or known.body_sha256 != sent.sha256():
            return refused(
                sent.id,
                Refusal(Code.body_mismatch, "Another entry with this id and other content is stored."),
            )
        if known.state == "held":
            return EntryResult(sent.id, "held", 202, revision=known.id)
        return EntryResult(sent.id, "repeat", 200, revision=known.id)

    def _accept_new(self, sent: SentEntry) -> EntryResult:
        kind = kinds().get(sent.kind)
        if kind is None:
            raise Refusal(Code.unknown_kind, f"There is no kind of record {sent.kind!r}.", field="kind")
        made_by = self.crew.get(sent.made_by)
        if made_by is None:
            raise Refusal(
                Code.unknown_reference, "made_by is nobody of this production's crew.", field="made_by"
            )
        head = self._head(sent, kind)
        self._check_permission(sent, kind)
        entry = Entry(
            id=sent.id,
            production_id=self.production.id,
            kind=sent.kind,
            record=sent.record,
            based_on=sent.based_on,
            seen=sent.seen,
            patch=sent.patch,
            withdrawal=sent.withdrawn or "",
            happened_at=sent.happened_at,
            received_at=self.now,
            device=self.device,
            made_by=made_by,
            sent_by=self.sender,
            body_sha256=sent.sha256(),
            state="applied",
        )
        self.known_entries[entry.id] = entry
        try:
            if sent.based_on is not None and not self._has_come(sent.based_on, sent.record):
                entry.state = "held"
                entry.save(force_insert=True)
                return EntryResult(sent.id, "held", 202, revision=entry.id)
            conflict = self._apply(entry, kind, head)
        except BaseException:
            del self.known_entries[entry.id]
            raise
        self._apply_following(entry, kind)
        return EntryResult(
            sent.id, "conflict" if conflict else "stored", 200 if conflict else 201, revision=entry.id
        )

    def _head(self, sent: SentEntry, kind: RecordKind) -> Record | None:
        head = self.record(sent.record)
        if head and (head.production_id != self.production.id or head.kind != sent.kind):
            raise Refusal(Code.record_exists, "This record's id belongs to something else.", field="record")
        if head and sent.based_on is None:
            raise Refusal(Code.record_exists, "This record exists already.", field="record")
        if head is None and kind.made_on_server:
            raise Refusal(Code.not_allowed, f"A record of kind {kind.kind} is not made on a phone.")
        if head and kind.never_changes and not sent.withdrawn:
            raise Refusal(Code.recipe_is_fixed, RECIPE_IS_FIXED, field="patch")
        return head

    def _has_come(self, entry_id: UUID, record_id: UUID) -> bool:
        found = self.known_entries.get(entry_id)
        if found is None:
            found = Entry.objects.filter(id=entry_id).first()
        return found is not None and found.record == record_id and found.state == "applied"

    def _check_permission(self, sent: SentEntry, kind: RecordKind) -> None:
        if self.role not in kind.writers:
            raise Refusal(Code.not_allowed, f"Your role may not write a record of kind {kind.kind}.")
        if kind.made_on_server and sent.withdrawn:
            raise Refusal(
                Code.not_allowed, f"A record of kind {kind.kind} is not taken back.", field="withdrawn"
            )
        touched_health = sorted(kind.document.health_fields & sent.patch.keys())
        if touched_health and not may_see_health(self.role):
            raise Refusal(Code.not_allowed, "Your role may not write health notes.", field=touched_health[0])
        fixed = sorted(sent.patch.keys() - kind.writable_fields) if kind.writable_fields else []
        if fixed:
            raise Refusal(Code.not_allowed, f"{fixed[0]} is not written by hand.", field=fixed[0])

    # -- applying ----------------------------------------------------------------------------------

    def _apply(self, entry: Entry, kind: RecordKind, head: Record | None) -> bool:
        """Apply an entry to its record; True when something of it is kept as a conflict."""
        merged = self._merged(entry, head)
        document = self._validated(kind, merged.document)
        self._check_references(document)
        entry.seq = self._next_seq()
        sort = ConflictSort.STALE_EDIT
        withdrawn = bool(entry.withdrawal) or bool(head and head.withdrawn)
        conflicts: list[Document] = []
        if head and head.withdrawn and not entry.withdrawal:
            sort = ConflictSort.EDIT_OF_WITHDRAWN
            conflicts.append(self._conflict(sort, entry, kind, merged.collisions))
        elif merged.collisions:
            conflicts.append(self._conflict(sort, entry, kind, merged.collisions))
        entry.save(force_insert=entry._state.adding)
        aftermath = kind.write(
            Written(
                record_id=entry.record,
                production_id=self.production.id,
                document=document,
                before=self._validated(kind, head.document) if head else None,
                withdrawn=withdrawn,
                entry=entry,
                fetch=self._document_of,
            )
        )
        conflicts.extend(aftermath.conflicts)
        self._save_record(entry, document, aftermath, head, withdrawn)
        self._save_others(aftermath.others)
        for conflict in conflicts:
            self.write_own("conflict", uuid7(), conflict)
        if conflicts:
            entry.conflict = True
            entry.save(update_fields=["conflict"])
        self.production.save(update_fields=["last_seq"])
        return bool(conflicts)

    def _merged(self, entry: Entry, head: Record | None) -> Merged:
        if head is None:
            return Merged(apply_merge_patch({}, entry.patch), ())
        chain = list(
            Entry.objects.filter(record=entry.record, state="applied")
            .order_by("seq")
            .only("id", "based_on", "seq", "patch")
        )
        based_on = {link.id: link.based_on for link in chain}
        known: set[UUID] = set()
        ancestor = entry.based_on
        while ancestor is not None and ancestor in based_on and ancestor not in known:
            known.add(ancestor)
            ancestor = based_on[ancestor]
        unseen = [link.patch for link in chain if link.id not in known and (link.seq or 0) > entry.seen]
        return merge_stale_edit(head.document, entry.patch, unseen)

    def _validated(self, kind: RecordKind, document: dict[str, Any]) -> Document:
        try:
            return kind.document.model_validate_json(json.dumps(document))
        except ValidationError as error:
            words, path = described(error)
            raise Refusal(Code.not_a_document, words, field=path) from None

    def _check_references(self, document: Document) -> None:
        for kind, record_id in document.references():
            record = self.record(record_id)
            if record is None or record.production_id != self.production.id or record.kind != kind:
                words = kind.replace("_", " ")
                raise Refusal(
                    Code.unknown_reference,
                    f"There is no {words} with the id {record_id}.",
                    field=str(record_id),
                )

    def _apply_following(self, entry: Entry, kind: RecordKind) -> None:
        """Apply what was held until this entry came, and what waits for that in turn."""
        waiting = Entry.objects.filter(
            production_id=self.production.id, record=entry.record, based_on=entry.id, state="held"
        ).order_by("received_at", "id")
        for held in waiting:
            held.state = "applied"
            try:
                self._check_fits(held, kind)
                with transaction.atomic():
                    self._apply(held, kind, self.record(held.record))
            except Refusal as refusal:
                # It is stored already and must not vanish: it stays, and a person sees that it does not fit.
                self._forget()
                self._keep_unfit(held, kind, refusal)
            self.known_entries[held.id] = held
            self._apply_following(held, kind)

    @staticmethod
    def _check_fits(held: Entry, kind: RecordKind) -> None:
        """What was held was looked at before the record was there to compare it with."""
        if held.kind != kind.kind:
            raise Refusal(Code.record_exists, "This record's id belongs to something else.", field="record")
        if kind.never_changes and not held.withdrawal:
            raise Refusal(Code.recipe_is_fixed, RECIPE_IS_FIXED, field="patch")

    def _keep_unfit(self, held: Entry, kind: RecordKind, refusal: Refusal) -> None:
        offered = CollidingField(path=[refusal.field or ""], kept=refusal.message, offered=held.patch)
        health = bool(kind.document.health_fields & held.patch.keys())
        held.state, held.seq, held.conflict = "applied", self._next_seq(), True
        held.save(update_fields=["state", "seq", "conflict"])
        self.write_own(
            "conflict",
            uuid7(),
            ConflictDocument(
                sort=ConflictSort.STALE_EDIT,
                about_kind=kind.kind,
                about=held.record,
                entry=held.id,
                fields_collided=[] if health else [offered],
                health_fields_collided=[offered] if health else [],
            ),
        )
        self.production.save(update_fields=["last_seq"])

    # -- records -----------------------------------------------------------------------------------

    def write_own(self, kind_name: str, record_id: UUID, document: Document) -> None:
        """Write a record the server makes: same chain, same feed, as everything else."""
        kind = kinds()[kind_name]
        head = self.record(record_id)
        entry = Entry(
            id=uuid7(),
            production_id=self.production.id,
            kind=kind_name,
            record=record_id,
            based_on=head.revision_id if head else None,
            patch=document.to_json(),
            happened_at=self.now,
            received_at=self.now,
            device=SERVER_DEVICE,
            made_by=self.sender,
            sent_by=self.sender,
            body_sha256="",
            state="applied",
            seq=self._next_seq(),
        )
        entry.save(force_insert=True)
        written = Written(record_id, self.production.id, document, None, False, entry, self._document_of)
        self._save_record(entry, document, kind.write(written), head, False)
        self.production.save(update_fields=["last_seq"])

    def _next_seq(self) -> int:
        self.production.last_seq += 1
        return self.production.last_seq

    def _save_record(
        self, entry: Entry, document: Document, aftermath: Aftermath, head: Record | None, withdrawn: bool
    ) -> None:
        record = head or Record(id=entry.record, production_id=self.production.id, kind=entry.kind)
        record.document = document.to_json()
        record.derived = aftermath.derived
        record.revision = entry
        record.seq = entry.seq or 0
        record.withdrawn = withdrawn
        record.save(force_insert=head is None)
        self.records[record.id] = record
        self.looked_for.add(record.id)

    def _save_others(self, others: dict[UUID, dict[str, Any]]) -> None:
        self._fetch_records(set(others))
        for record_id, derived in others.items():
            record = self.records[record_id]
            record.derived = {**record.derived, **derived}
            record.seq = self._next_seq()
            record.save(update_fields=["derived", "seq"])

    def _conflict(
        self, sort: ConflictSort, entry: Entry, kind: RecordKind, collisions: Iterable[Collision]
    ) -> ConflictDocument:
        shown: dict[bool, list[CollidingField]] = {True: [], False: []}
        for collision in collisions:
            health = collision.path[0] in kind.document.health_fields
            shown[health].append(
                CollidingField(path=list(collision.path), kept=collision.kept, offered=collision.offered)
            )
        return ConflictDocument(
            sort=sort,
            about_kind=kind.kind,
            about=entry.record,
            entry=entry.id,
            fields_collided=shown[False],
            health_fields_collided=shown[True],
        )


def _ids_in(value: Any) -> Iterable[UUID]:
    """Every text in a patch that is an id, to be looked up together."""
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
