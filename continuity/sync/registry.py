"""The kinds of record there are: their documents, who may write them, and how they become tables.

Each package registers its kinds in its ``records`` module when Django starts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from continuity.people.documents import Role
from continuity.sync.document import Document

Writers = frozenset[Role]


@dataclass(frozen=True)
class Written:
    """One entry on its way into the tables.

    ``before`` is None for a new record; ``withdrawn`` says the record is taken back. ``fetch`` returns the
    current document of another record of the production.
    """

    record_id: UUID
    production_id: UUID
    document: Document
    before: Document | None
    withdrawn: bool
    entry: Any
    fetch: Callable[[UUID], dict[str, Any]]


@dataclass
class Aftermath:
    """What writing one record did to others and to itself, told to the sync service.

    ``derived`` is the record's own; ``others`` gives other records' new derived values by id;
    ``conflicts`` opens conflict documents.
    """

    derived: dict[str, Any] = field(default_factory=dict)
    others: dict[UUID, dict[str, Any]] = field(default_factory=dict)
    conflicts: list[Document] = field(default_factory=list)


@dataclass(frozen=True)
class RecordKind:
    """``write`` puts a document into the tables, inside the entry's transaction. ``health_writers`` may write
    the document's health fields. ``made_on_server`` kinds take no new records from phones."""

    kind: str
    document: type[Document]
    writers: Writers
    write: Callable[[Written], Aftermath]
    made_on_server: bool = False
    writable_fields: frozenset[str] | None = None
    never_changes: bool = False


_KINDS: dict[str, RecordKind] = {}


def register(kind: RecordKind) -> None:
    """Make a kind known. A kind is registered once."""
    if kind.kind in _KINDS:
        raise ValueError(f"The kind {kind.kind} is registered twice.")
    _KINDS[kind.kind] = kind


def kinds() -> Mapping[str, RecordKind]:
    """Every registered kind by its name."""
    return _KINDS
