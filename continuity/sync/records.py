"""Conflicts: opened by the server, settled by a person."""

from __future__ import annotations

from continuity.people.documents import Role
from continuity.sync.documents import ConflictDocument
from continuity.sync.registry import Aftermath, RecordKind, Written, register


def write_conflict(written: Written) -> Aftermath:
    """A conflict lives in its record alone."""
    return Aftermath()


register(
    RecordKind(
        "conflict",
        ConflictDocument,
        frozenset({Role.SET_ARTIST, Role.CONTINUITY, Role.DEPARTMENT_HEAD}),
        write_conflict,
        made_on_server=True,
        writable_fields=frozenset({"settled"}),
    )
)
