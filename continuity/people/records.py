"""How performers and the crew become tables, and who may write them."""

from __future__ import annotations

from typing import cast

from continuity.people import models
from continuity.people.documents import CrewDocument, PerformerDocument, Role
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row


def write_performer(written: Written) -> Aftermath:
    document = cast(PerformerDocument, written.document)
    write_row(models.Performer, written, name=document.name, doubles_id=document.doubles)
    return Aftermath()


def write_crew(written: Written) -> Aftermath:
    """The membership is written by `continuity.people.services`; its record only tells the phones."""
    return Aftermath()


register(
    RecordKind(
        "performer",
        PerformerDocument,
        frozenset({Role.SET_ARTIST, Role.CONTINUITY, Role.DEPARTMENT_HEAD}),
        write_performer,
    )
)
register(RecordKind("crew", CrewDocument, frozenset(), write_crew, made_on_server=True))
