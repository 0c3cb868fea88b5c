"""What state a copy is in: what was last said of it, overruled by the applications that took it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from continuity.stock.documents import CopyState
from continuity.stock.models import Copy, CopyChange


def state_of_use(outcome: str, removed: bool) -> CopyState:
    """What a use makes of a copy: spoiled, it is damaged; lost on set, it is lost; good, it is applied, and
    used up once removed."""
    if outcome == "spoiled":
        return CopyState.DAMAGED
    if outcome == "lost":
        return CopyState.LOST
    return CopyState.USED_UP if removed else CopyState.APPLIED


def change_by(entry: Any, copy_id: UUID, to_state: CopyState, from_state: str = "") -> CopyChange:
    """The line of a copy's log that an entry makes, not written yet. A new copy was in no state before."""
    return CopyChange(
        copy_id=copy_id,
        from_state=from_state,
        to_state=to_state,
        happened_at=entry.happened_at,
        received_at=entry.received_at,
        by_id=entry.made_by_id,
        entry=entry,
    )


def restate_copies(copy_ids: Iterable[UUID], entry: Any) -> dict[UUID, dict[str, Any]]:
    """Work the states of these copies out again, write down each change with the entry that caused it, and
    return their derived values."""
    derived: dict[UUID, dict[str, Any]] = {}
    changes: list[CopyChange] = []
    for copy in Copy.objects.filter(id__in=set(copy_ids)).prefetch_related("uses__application"):
        uses = [use for use in copy.uses.all() if not use.withdrawn]
        first = next((use for use in uses if not use.doubled), None)
        state = CopyState(copy.told_state)
        if first:
            state = state_of_use(first.outcome, first.application.removed_at is not None)
        derived[copy.id] = {
            "state": state.value,
            "applications": sorted({str(use.application_id) for use in uses}),
        }
        if state != copy.state:
            changes.append(change_by(entry, copy.id, state, copy.state))
            Copy.objects.filter(id=copy.id).update(state=state)
    CopyChange.objects.bulk_create(changes)
    return derived
