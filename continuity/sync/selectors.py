"""Reading the feed: every record changed since a cursor, as one person may see it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.sync.models import Record
from continuity.sync.registry import DocumentType, kinds


@dataclass(frozen=True)
class Feed:
    """``changes`` in the order of ``seq``; ``cursor`` is where to go on; ``key`` changes when what this
    person may see changes, and then everything is to be read again from 0."""

    key: str
    cursor: int
    more: bool
    changes: list[dict[str, Any]]


def read_feed(*, membership: Membership, after: int, limit: int) -> Feed:
    """Up to ``limit`` records that changed after place ``after``, each once, as it stands now."""
    role = Role(membership.role)
    records = list(
        Record.objects.filter(production_id=membership.production_id, seq__gt=after)
        .select_related("revision")
        .order_by("seq")[: limit + 1]
    )
    more = len(records) > limit
    records = records[:limit]
    return Feed(
        key=_key(membership),
        cursor=records[-1].seq if records else after,
        more=more,
        changes=[shown(record, role) for record in records],
    )


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
        if "files" in derived:
            photos = {photo["sha256"] for photo in document["photos"].values()}
            derived["files"] = {name: state for name, state in derived["files"].items() if name in photos}
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
