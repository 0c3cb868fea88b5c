"""Scenes and shoot days from a file: first what it would do, then, when that is confirmed, doing it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from uuid6 import uuid7

from continuity.people.models import Membership, Performer
from continuity.schedule.csv_import.comparison import Comparison, ReadLine, Sheet, compare
from continuity.schedule.csv_import.known import Head, Known, KnownLook, Named
from continuity.schedule.csv_import.scenes import SCENES
from continuity.schedule.csv_import.shoot_days import SHOOT_DAYS
from continuity.schedule.csv_import.table import TableFault
from continuity.schedule.models import Character, Look, Production, Scene, Unit
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.services import accept_entries

SHEETS: Mapping[str, Sheet] = {"scenes": SCENES, "shoot-days": SHOOT_DAYS}
# Entries name the device they were written on; those that came from a file name this one.
CSV_DEVICE = UUID("71f1160a-bce9-4743-92e4-dbec9bf3d182")
ENTRIES_AT_ONCE = 500


@dataclass(frozen=True)
class Preview:
    """What a file would do, and the ``digest`` that confirming it takes."""

    digest: str
    comparison: Comparison


def preview_csv(*, production_id: UUID, sheet: Sheet, text: str) -> Preview:
    """What a file would do to the production. Stores nothing. Raises `Refusal` (unreadable_file)."""
    known = _known(production_id, sheet)
    return Preview(known.digest(sheet.kind, text), _compare(text, sheet, known))


def confirm_csv(*, sender: Membership, sheet: Sheet, text: str, digest: str) -> Comparison:
    """Save every line of a previewed file that can be read, or nothing at all, as entries of ``sender``.

    Raises `Refusal`: stale_preview when the text or the production is not what the preview was made of,
    unreadable_file, or what the first entry that is not stored was refused with.
    """
    with transaction.atomic():
        # Held to the end, so that nothing changes between the comparison and what is written by it.
        Production.objects.select_for_update().get(id=sender.production_id)
        known = _known(sender.production_id, sheet)
        comparison = _compare(text, sheet, known)
        if known.digest(sheet.kind, text) != digest:
            raise Refusal(
                Code.stale_preview,
                "The file or the production has changed since the preview; look at the preview again.",
                field="digest",
            )
        lines = sorted((*comparison.added, *comparison.changed), key=lambda line: line.line)
        entries = list(_entries(lines, sheet, sender))
        for start in range(0, len(entries), ENTRIES_AT_ONCE):
            results = accept_entries(
                production_id=sender.production_id,
                sender=sender,
                device=CSV_DEVICE,
                entries=entries[start : start + ENTRIES_AT_ONCE],
            )
            for line, result in zip(lines[start:], results, strict=False):
                if result.result != "stored":
                    code = Code[result.code] if result.code else Code.collided
                    raise Refusal(code, f"Line {line.line}: {result.message} Nothing was saved.")
    return comparison


def _entries(lines: list[ReadLine], sheet: Sheet, sender: Membership) -> Iterator[dict[str, Any]]:
    now = timezone.now().isoformat()
    for line in lines:
        yield {
            "id": str(uuid7()),
            "kind": sheet.kind,
            "record": str(line.head.id if line.head else uuid7()),
            "based_on": str(line.head.revision) if line.head else None,
            "seen": line.head.seq if line.head else 0,
            "happened_at": now,
            "made_by": str(sender.id),
            "patch": line.patch,
        }


def _compare(text: str, sheet: Sheet, known: Known) -> Comparison:
    try:
        return compare(text, sheet, known)
    except TableFault as fault:
        raise Refusal(Code.unreadable_file, str(fault), field="text") from None


def _known(production_id: UUID, sheet: Sheet) -> Known:
    """What a file of this sort is compared with, and no more: the digest covers all of it."""
    ours = {"production_id": production_id, "withdrawn": False}
    performers = _named(Performer.objects.filter(**ours).values_list("id", "name"))
    heads = tuple(
        Head(record.id, record.revision_id, record.seq, record.document)
        for record in Record.objects.filter(kind=sheet.kind, **ours)
    )
    if sheet is SHOOT_DAYS:
        units = _named(Unit.objects.filter(**ours).values_list("id", "name"))
        scenes = _named(Scene.objects.filter(**ours).values_list("id", "number"))
        return Known(units=units, performers=performers, scenes=scenes, heads=heads)
    looks = Look.objects.filter(**ours).values_list("id", "name", "character_id")
    return Known(
        characters=_named(Character.objects.filter(**ours).values_list("id", "name")),
        looks=tuple(KnownLook(*look) for look in looks),
        performers=performers,
        scenes=tuple(Named(head.id, head.document["number"]) for head in heads),
        heads=heads,
    )


def _named(rows: Any) -> tuple[Named, ...]:
    return tuple(Named(record_id, name) for record_id, name in rows)
