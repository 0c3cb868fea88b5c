"""Reading the feed: every record changed since a cursor, as one person may see it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.schedule.models import Production
from continuity.sync.models import Entry, Record
from continuity.sync.registry import DocumentType, kinds


@dataclass(frozen=True)
class Feed:
    """``changes`` in the order of ``seq``; ``cursor`` is where to go on, and ``mark`` the last entry up to
    there, None while there is none. ``key`` changes when what this person may see changes, and then all is to
    be read again from 0. So it is when the feed has ``gone_back``: the server no longer has what was read,
    as after it was restored from a backup, and its numbers mean something else now."""

    key: str
    cursor: int
    mark: UUID | None
    gone_back: bool
    more: bool
    changes: list[dict[str, Any]]


def read_feed(*, membership: Membership, after: int, limit: int, mark: UUID | None = None) -> Feed:
    """Up to ``limit`` records that changed after place ``after``, each once, as it stands now. ``mark`` came
    with that place, and by it the place is known again."""
    role = Role(membership.role)
    if not _still_stands(membership.production_id, after, mark):
        return Feed(f"{_key(membership)}-", after, None, True, False, [])
    records = list(
        Record.objects.filter(production_id=membership.production_id, seq__gt=after)
        .select_related("revision")
        .order_by("seq")[: limit + 1]
    )
    more = len(records) > limit
    records = records[:limit]
    cursor = records[-1].seq if records else after
    return Feed(
        key=_key(membership),
        cursor=cursor,
        # Who asked from the same place has it already.
        mark=mark if mark is not None and cursor == after else _mark(membership.production_id, cursor),
        gone_back=False,
        more=more,
        changes=[shown(record, role) for record in records],
    )


def _mark(production_id: UUID, place: int) -> UUID | None:
    """The last entry up to a place in the feed. What stands up to there never changes, so a place can be told
    from one of the same number on a server that has lost what came before it."""
    entries = Entry.objects.filter(production_id=production_id, seq__lte=place)
    return entries.order_by("-seq").values_list("id", flat=True).first()


def _still_stands(production_id: UUID, place: int, mark: UUID | None) -> bool:
    if mark is not None:
        # What the server says by itself has a place and no entry: the mark of a place past the end may stand.
        return place <= Production.objects.get(id=production_id).last_seq and mark == _mark(
            production_id, place
        )
    # Phones that send no mark can at least not have read further than there is to read.
    return not place or Record.objects.filter(production_id=production_id, seq__gte=place).exists()


def missing_entries(*, production_id: UUID, ids: Sequence[UUID]) -> list[UUID]:
    """Which of these entries the production does not have, applied or held, in the order given."""
    known = set(Entry.objects.filter(production_id=production_id, id__in=ids).values_list("id", flat=True))
    return [entry_id for entry_id in ids if entry_id not in known]


def document_of(record: Record, kind: type[DocumentType]) -> DocumentType:
    """A record's document, read as what it is."""
    return kind.model_validate_json(json.dumps(record.document))


def shown(record: Record, role: Role) -> dict[str, Any]:
    """A record as a role may see it: without health notes for those who neither apply nor head."""
    document, derived = dict(record.document), dict(record.derived)
    health_warnings = derived.pop("health_warnings", [])
    if may_see_health(role):
        if health_warnings:
            derived["warnings"] = [*derived.get("warnings", []), *health_warnings]
    else:
        document = kinds()[record.kind].document.without_health(document)
        for told in {"files", "not_measurable"} & derived.keys():
            photos = {photo["sha256"] for photo in document["photos"].values()}
            derived[told] = {name: words for name, words in derived[told].items() if name in photos}
    revision = record.revision
    return {
        "seq": record.seq,
        "kind": record.kind,
        "id": record.id,
        "revision": revision.id,
        "withdrawn": record.withdrawn,
        "happened_at": revision.happened_at,
        "received_at": revision.received_at,
        "made_by": revision.made_by_id,
        "document": document,
        "derived": derived,
    }


def _key(membership: Membership) -> str:
    content = f"{membership.production_id}:{membership.id}:{membership.role}"
    return hashlib.sha256(content.encode()).hexdigest()[:16]
