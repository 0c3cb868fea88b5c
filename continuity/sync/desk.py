"""Where entries are taken in: each is checked, merged into its record, numbered, and written."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db import IntegrityError, connection, transaction
from django.utils import timezone
from pydantic import ValidationError
from uuid6 import uuid7

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.schedule.models import Production
from continuity.sync.document import Document
from continuity.sync.documents import CollidingField, ConflictDocument, ConflictSort
from continuity.sync.entry import SentEntry, described
from continuity.sync.entry_result import EntryResult, refused
from continuity.sync.health import tells_of_health
from continuity.sync.merge import (
    Collision,
    Merged,
    apply_merge_patch,
    merge_patch_between,
    merge_stale_edit,
    written_paths,
)
from continuity.sync.models import Entry, Record
from continuity.sync.open_records import OpenRecords
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, kinds
from continuity.sync.rows import Rows
from continuity.sync.statements import key_of, rows_where, rows_with_keys, update_rows

SERVER_DEVICE = UUID(int=0)
RECIPE_IS_FIXED = "A recipe version never changes; a change is a new version."


class HalfDone(Exception):
    """An entry was refused when something of it had been written already."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.message)
        self.refusal = refusal


class Desk:
    """One sitting at which entries are taken in, with the production's feed locked.

    The lock is held to the end of the transaction, so a reader of the feed can never pass a place whose
    entry has not been committed yet.

    What is written goes to the database together. Nothing here can undo the writing of one entry alone: it
    raises `HalfDone` or `IntegrityError` when that would be needed, and then the whole push is to be rolled
    back and handed to a `CarefulDesk`.
    """

    def __init__(self, production_id: UUID) -> None:
        self.production = _locked(production_id)
        self.written_seq = self.production.last_seq
        self.now = timezone.now()
        self.rows = Rows()
        self.records = OpenRecords(self.rows)
        self.known_entries: dict[UUID, Entry] = {}
        self.held: dict[UUID, list[Entry]] = {}
        self.crew: dict[UUID, Membership] = {}
        self.writing = False
        self.stale: set[UUID] = set()

    def turn_to(self, sender: Membership, device: UUID) -> None:
        """Take in from now on what this person's device sends."""
        self.sender = sender
        self.role = Role(sender.role)
        self.device = device
        self.crew.setdefault(sender.id, sender)

    # -- reading -----------------------------------------------------------------------------------

    def look_up(self, entries: Iterable[SentEntry]) -> None:
        """Read in one go what a batch will need, so that five hundred entries are not a thousand queries."""
        entries = list(entries)
        ids = {entry.id for entry in entries} | {entry.based_on for entry in entries if entry.based_on}
        self._read_entries(ids)
        wanted: set[UUID] = {entry.record for entry in entries}
        for entry in entries:
            wanted.update(entry.ids_in_patch())
        self.records.fetch(wanted)

    def _read_entries(self, wanted: Iterable[UUID]) -> None:
        """Read these entries, and all of the production that wait for another."""
        self.held.clear()
        waiting = rows_where(
            Entry, "production_id = %s AND seq IS NULL", [key_of(Production, self.production.id)]
        )
        found = [*rows_with_keys(Entry, wanted), *waiting]
        for entry in sorted(found, key=lambda entry: (entry.received_at, entry.id)):
            self.known_entries[entry.id] = entry
            if entry.state == "held" and entry.production_id == self.production.id and entry.based_on:
                self.held.setdefault(entry.based_on, []).append(entry)

    def _crew_member(self, crew_id: UUID) -> Membership | None:
        if crew_id not in self.crew:
            for member in Membership.objects.filter(production_id=self.production.id):
                self.crew.setdefault(member.id, member)
        return self.crew.get(crew_id)

    # -- writing -----------------------------------------------------------------------------------

    def write(self) -> None:
        """Send everything taken in so far to the database. Raises `IntegrityError`."""
        self.rows.write()
        self.records.write()
        if self.production.last_seq != self.written_seq:
            update_rows(Production, ("last_seq",), {self.production.id: [self.production.last_seq]})
            self.written_seq = self.production.last_seq

    def finish(self) -> None:
        """Write, and then work out again what has become stale. Raises `IntegrityError`."""
        self.write()
        self.records.fetch(self.stale)
        by_kind: dict[str, dict[UUID, Document]] = {}
        for record_id in sorted(self.stale):
            # What made it stale may have been undone together with the record itself.
            if record := self.records.find(record_id):
                document = self.records.document(kinds()[record.kind].document, record_id)
                by_kind.setdefault(record.kind, {})[record_id] = document
        for kind, documents in by_kind.items():
            if restate := kinds()[kind].restate:
                found = restate(documents)
                self._save_others({key: new for key, new in found.items() if self._differs(key, new)})
        self.stale.clear()
        self.write()

    def _differs(self, record_id: UUID, derived: dict[str, Any]) -> bool:
        standing = self.records.derived(record_id)
        return {**standing, **derived} != standing

    def _forget(self) -> None:
        """After a roll-back what was read, numbered and gathered meanwhile is read again."""
        self.rows = Rows()
        self.records = OpenRecords(self.rows)
        self.production.refresh_from_db(fields=["last_seq"])
        self.written_seq = self.production.last_seq
        self._read_entries(())

    # -- one entry ---------------------------------------------------------------------------------

    def accept(self, sent: SentEntry) -> EntryResult:
        known = self.known_entries.get(sent.id)
        if known:
            return self._answer_again(known, sent)
        self.writing = False
        try:
            return self._accept_new(sent)
        except Refusal as refusal:
            if self.writing:
                raise HalfDone(refusal) from None
            return refused(sent.id, refusal)

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
        made_by = self._crew_member(sent.made_by)
        if made_by is None:
            raise Refusal(
                Code.unknown_reference, "made_by is nobody of this production's crew.", field="made_by"
            )
        self._check_permission(sent, kind)
        head = self._head(sent, kind)
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
                self.rows.add(entry)
                self.held.setdefault(sent.based_on, []).append(entry)
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
        head = self.records.find(sent.record)
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
        unseen: list[dict[str, Any]] = []
        merged = Merged(apply_merge_patch({}, entry.patch), ())
        if head:
            self.write()
            unseen = self._unseen(entry)
            merged = merge_stale_edit(head.document, entry.patch, unseen, kind.document.together)
        document = self._validated(kind, merged.document)
        self._check_references(document)
        before = self.records.document(kind.document, head.id) if head else None
        self.writing = True
        entry.seq = self._next_seq()
        withdrawn = bool(entry.withdrawal) or bool(head and head.withdrawn)
        conflicts: list[Document] = []
        if head and (any(unseen) if entry.withdrawal else head.withdrawn):
            # One took it back, the other wrote on, in whichever order they came.
            sort = ConflictSort.EDIT_OF_WITHDRAWN
            conflicts.append(self._conflict(sort, entry, kind, head.document, merged.collisions))
        elif head and merged.collisions:
            sort = ConflictSort.STALE_EDIT
            conflicts.append(self._conflict(sort, entry, kind, head.document, merged.collisions))
        if entry._state.adding:
            self.rows.add(entry)
        else:
            entry.save(update_fields=["state", "seq"])
        aftermath = kind.write(
            Written(
                record_id=entry.record,
                production_id=self.production.id,
                document=document,
                before=before,
                withdrawn=withdrawn,
                entry=entry,
                others=self.records,
                rows=self.rows,
                unseen=unseen,
            )
        )
        conflicts.extend(aftermath.conflicts)
        self._save_record(entry, document, aftermath, head, withdrawn)
        self._save_others(aftermath.others)
        self.stale |= aftermath.stale
        for (follow_up_kind, record_id), follow_up in aftermath.follow_ups.items():
            self.write_own(follow_up_kind, record_id, follow_up)
        for conflict in conflicts:
            self.write_own("conflict", uuid7(), conflict)
        if conflicts:
            entry.conflict = True
            self.rows.change(Entry, entry.id, conflict=True)
        return bool(conflicts)

    def _unseen(self, entry: Entry) -> list[dict[str, Any]]:
        """What others have written to the record that the maker of this entry had not seen."""
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
        return [link.patch for link in chain if link.id not in known and (link.seq or 0) > entry.seen]

    def _validated(self, kind: RecordKind, document: dict[str, Any]) -> Document:
        try:
            return kind.document.model_validate_json(json.dumps(document))
        except ValidationError as error:
            words, path = described(error)
            raise Refusal(Code.not_a_document, words, field=path) from None

    def _check_references(self, document: Document) -> None:
        for kind, record_id in document.references():
            record = self.records.find(record_id)
            if record is None or record.production_id != self.production.id or record.kind != kind:
                words = kind.replace("_", " ")
                raise Refusal(
                    Code.unknown_reference,
                    f"There is no {words} with the id {record_id}.",
                    field=str(record_id),
                )

    def _apply_following(self, entry: Entry, kind: RecordKind) -> None:
        """Apply what was held until this entry came, and what waits for that in turn."""
        for held in self.held.pop(entry.id, ()):
            if held.record != entry.record:
                continue
            self.write()
            held.state = "applied"
            try:
                self._check_fits(held, kind)
                with transaction.atomic():
                    self._apply(held, kind, self.records.find(held.record))
                    self.write()
            except (Refusal, IntegrityError) as error:
                # It is stored already and must not vanish: it stays, and a person sees that it does not fit.
                self._forget()
                self._keep_unfit(held, kind, error if isinstance(error, Refusal) else collided())
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
        head = self.records.get(held.record)
        health = any(
            tells_of_health(kind.document, head.document, path, value)
            for path, value in written_paths(held.patch)
        )
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

    # -- records -----------------------------------------------------------------------------------

    def write_own(self, kind_name: str, record_id: UUID, document: Document) -> None:
        """Write a record the server makes: same chain, same feed, as everything else.

        Of one that is there the entry holds only what changes, so that it collides with nothing else.
        """
        kind = kinds()[kind_name]
        head = self.records.find(record_id)
        if head:
            self.write()
        before = self.records.document(kind.document, head.id) if head else None
        whole = document.to_json()
        entry = Entry(
            id=uuid7(),
            production_id=self.production.id,
            kind=kind_name,
            record=record_id,
            based_on=head.revision_id if head else None,
            patch=merge_patch_between(head.document, whole) if head else whole,
            happened_at=self.now,
            received_at=self.now,
            device=SERVER_DEVICE,
            made_by=self.sender,
            sent_by=self.sender,
            body_sha256="",
            state="applied",
            seq=self._next_seq(),
        )
        self.rows.add(entry)
        written = Written(
            record_id,
            self.production.id,
            document,
            before,
            False,
            entry,
            self.records,
            self.rows,
            by_server=True,
        )
        self._save_record(entry, document, kind.write(written), head, False)

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
        self.records.save(record, new=head is None)

    def _save_others(self, others: dict[UUID, dict[str, Any]]) -> None:
        self.records.fetch(set(others))
        for record_id, derived in others.items():
            record = self.records.get(record_id)
            record.derived = {**record.derived, **derived}
            record.seq = self._next_seq()
            self.records.save(record)

    def _conflict(
        self,
        sort: ConflictSort,
        entry: Entry,
        kind: RecordKind,
        document: dict[str, Any],
        collisions: Iterable[Collision],
    ) -> ConflictDocument:
        shown: dict[bool, list[CollidingField]] = {True: [], False: []}
        for collision in collisions:
            health = tells_of_health(kind.document, document, collision.path, collision.offered)
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


def _locked(production_id: UUID) -> Production:
    """The production, its row locked to the end of the transaction. Raises `Production.DoesNotExist`."""
    lock = " FOR UPDATE" if connection.features.has_select_for_update else ""
    found = rows_where(Production, f"id = %s{lock}", [key_of(Production, production_id)])
    if not found:
        raise Production.DoesNotExist
    return found[0]


def collided() -> Refusal:
    """Of an entry that a database constraint keeps out."""
    return Refusal(Code.collided, "It cannot stand beside what is stored already.")
