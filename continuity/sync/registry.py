"""The kinds of record there are: their documents, who may write them, and how they become tables.

Each package registers its kinds in its ``records`` module when Django starts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol, TypeVar
from uuid import UUID

from continuity.people.documents import Role
from continuity.sync.document import Document
from continuity.sync.rows import Rows

Writers = frozenset[Role]
DocumentType = TypeVar("DocumentType", bound=Document)


class Others(Protocol):
    """The records of the production as they stand in the middle of a push."""

    def document(self, kind: type[DocumentType], record_id: UUID) -> DocumentType:
        """A record's document. Raises `LookupError` when there is no such record."""
        ...

    def derived(self, record_id: UUID) -> dict[str, Any]:
        """What the server says of a record. Raises `LookupError` when there is no such record."""
        ...


@dataclass(frozen=True)
class Written:
    """One entry on its way into the tables.

    ``before`` is None for a new record; ``withdrawn`` says the record is taken back. ``others`` are the other
    records of the production. ``rows`` takes what need not be in the database before the whole push is:
    whoever reads a table that is written through it calls its ``write`` first. Everything is there already
    when an edit is written. ``unseen`` are the patches to this record that the maker of the entry had not
    seen; ``by_server`` says that the server writes this itself.
    """

    record_id: UUID
    production_id: UUID
    document: Document
    before: Document | None
    withdrawn: bool
    entry: Any
    others: Others
    rows: Rows
    unseen: Sequence[Mapping[str, Any]] = ()
    by_server: bool = False


@dataclass
class Aftermath:
    """What writing one record did to others and to itself, told to the sync service.

    ``derived`` is the record's own; ``others`` gives other records' new derived values by id;
    ``conflicts`` opens conflict documents; ``follow_ups`` are documents that the server now writes itself,
    in the name of the one who sent the entry, by (kind, record id): they have no aftermath of their own.
    ``stale`` are other records that their kind restates once all of the push is in the tables.
    """

    derived: dict[str, Any] = field(default_factory=dict)
    others: dict[UUID, dict[str, Any]] = field(default_factory=dict)
    conflicts: list[Document] = field(default_factory=list)
    follow_ups: dict[tuple[str, UUID], Document] = field(default_factory=dict)
    stale: set[UUID] = field(default_factory=set)


@dataclass(frozen=True)
class RecordKind:
    """``write`` puts a document into the tables, inside the entry's transaction. ``made_on_server`` kinds
    take no new records from phones; ``writable_fields`` are all that may be written of one, where they are
    named. ``never_changes`` says that a record is only ever taken back. ``restate`` gives the derived values
    of records, by id, that others have made stale; those it leaves out stay as they are."""

    kind: str
    document: type[Document]
    writers: Writers
    write: Callable[[Written], Aftermath]
    made_on_server: bool = False
    writable_fields: frozenset[str] | None = None
    never_changes: bool = False
    restate: Callable[[Mapping[UUID, Document]], Mapping[UUID, dict[str, Any]]] | None = None


_KINDS: dict[str, RecordKind] = {}


def register(kind: RecordKind) -> None:
    """Make a kind known. A kind is registered once."""
    if kind.kind in _KINDS:
        raise ValueError(f"The kind {kind.kind} is registered twice.")
    _KINDS[kind.kind] = kind


def kinds() -> Mapping[str, RecordKind]:
    """Every registered kind by its name."""
    return _KINDS
