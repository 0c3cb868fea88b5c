"""What a sheet does to the copies it takes, and what comes of two sheets that take one copy."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, cast
from uuid import UUID

from continuity.applications import models
from continuity.applications.documents import ApplicationDocument, CopyUse
from continuity.stock.copy_states import change_by, restate_copies, state_of_use
from continuity.stock.models import Copy
from continuity.sync.document import Document
from continuity.sync.documents import ConflictDocument, ConflictSort
from continuity.sync.registry import Written


@dataclass(frozen=True)
class Taken:
    """``others`` are new derived values of copies and of other sheets, ``conflicts`` are to be opened;
    ``used_before`` are the sheet's copies that an earlier sheet has too; ``flagged`` says the sheet holds one
    that is another's."""

    others: dict[UUID, dict[str, Any]] = field(default_factory=dict)
    conflicts: list[Document] = field(default_factory=list)
    used_before: frozenset[UUID] = frozenset()
    flagged: bool = False


def take_copies(application: models.Application, sheet: ApplicationDocument, written: Written) -> Taken:
    """Write down the copies a sheet takes, and move them and the sheets they are on."""
    before = cast(ApplicationDocument | None, written.before)
    if before is None and not written.withdrawn and _all_free(sheet, written):
        return _take_free_copies(application, sheet, written)
    # From here the tables are asked, and what earlier entries of the push wrote must be in them.
    written.rows.write()
    others: dict[UUID, dict[str, Any]] = {}
    conflicts: list[Document] = []
    if (
        before is None
        or before.copies != sheet.copies
        or before.removed_at != sheet.removed_at
        or written.withdrawn
    ):
        uses_before = before.copies.values() if before else ()
        touched = {use.copy_used for use in (*uses_before, *sheet.copies.values())}
        application.copies.all().delete()
        others, conflicts = _write_uses(application, sheet, written, touched)
        others |= restate_copies(touched, written.entry)
    uses = list(application.copies.all())
    used_before = models.CopyUse.objects.filter(
        copy_used_id__in=[use.copy_used_id for use in uses],
        withdrawn=False,
        application__first_seq__lt=application.first_seq,
    )
    return Taken(
        others=others,
        conflicts=conflicts,
        used_before=frozenset(used_before.values_list("copy_used_id", flat=True)),
        flagged=any(use.doubled for use in uses),
    )


def _all_free(sheet: ApplicationDocument, written: Written) -> bool:
    """Whether no sheet has any of these copies."""
    return not any(written.others.derived(use.copy_used).get("applications") for use in sheet.copies.values())


def _take_free_copies(application: models.Application, sheet: ApplicationDocument, written: Written) -> Taken:
    """A new sheet and copies nobody has: the common case, written without asking the tables anything."""
    others: dict[UUID, dict[str, Any]] = {}
    flagged = False
    for item, use in sheet.copies.items():
        again = use.copy_used in others
        flagged = flagged or again
        written.rows.add(_copy_use_row(application, item, use, written, again))
        if again:
            continue
        state = state_of_use(use.outcome, sheet.removed_at is not None)
        from_state = written.others.derived(use.copy_used)["state"]
        others[use.copy_used] = {"state": state.value, "applications": [str(application.id)]}
        if state != from_state:
            written.rows.change(Copy, use.copy_used, state=state.value)
            written.rows.add(change_by(written.entry, use.copy_used, state, from_state))
    return Taken(others=others, flagged=flagged)


def _write_uses(
    application: models.Application, sheet: ApplicationDocument, written: Written, touched: set[UUID]
) -> tuple[dict[UUID, dict[str, Any]], list[Document]]:
    """Write the sheet's copy uses anew. Returns the flags of other sheets that changed, and the conflicts."""
    before = cast(ApplicationDocument | None, written.before)
    taken_elsewhere = set(
        models.CopyUse.objects.filter(copy_used_id__in=touched, withdrawn=False).values_list(
            "copy_used_id", flat=True
        )
    )
    seen: set[UUID] = set()
    rows = []
    for item, use in sheet.copies.items():
        rows.append(_copy_use_row(application, item, use, written, use.copy_used in taken_elsewhere | seen))
        seen.add(use.copy_used)
    models.CopyUse.objects.bulk_create(rows)
    others = _settle_doubles(touched, application)
    already = {use.copy_used for use in before.copies.values()} if before else set()
    conflicts: list[Document] = []
    for copy in sorted((taken_elsewhere & seen) - already) if not written.withdrawn else ():
        other = (
            models.CopyUse.objects.filter(copy_used_id=copy, withdrawn=False)
            .exclude(application=application)
            .order_by("application__first_seq")
            .first()
        )
        conflicts.append(
            ConflictDocument(
                sort=ConflictSort.COPY_APPLIED_TWICE,
                about_kind="application",
                about=application.id,
                other=other.application_id if other else None,
                copy_used=copy,
                entry=written.entry.id,
            )
        )
    return others, conflicts


def _copy_use_row(
    application: models.Application, item: UUID, use: CopyUse, written: Written, doubled: bool
) -> models.CopyUse:
    return models.CopyUse(
        application=application,
        item=item,
        copy_used_id=use.copy_used,
        outcome=use.outcome,
        why=use.why or "",
        withdrawn=written.withdrawn,
        doubled=doubled,
    )


def _settle_doubles(copy_ids: set[UUID], application: models.Application) -> dict[UUID, dict[str, Any]]:
    """Of several sheets with one copy, the one first stored holds it and the rest are flagged. Returns the
    other sheets whose flag changed, as a change to their derived values."""
    uses = list(
        models.CopyUse.objects.filter(copy_used_id__in=copy_ids, withdrawn=False)
        .select_related("application")
        .order_by("application__first_seq", "id")
    )
    holders: set[UUID] = set()
    changed: list[models.CopyUse] = []
    for use in uses:
        doubled = use.copy_used_id in holders
        holders.add(use.copy_used_id)
        if doubled != use.doubled:
            use.doubled = doubled
            changed.append(use)
    # The constraint allows one unflagged use of a copy at any moment: flags are set before they are lifted.
    for use in sorted(changed, key=lambda use: not use.doubled):
        use.save(update_fields=["doubled"])
    others = {use.application_id for use in changed} - {application.id}
    return {
        other: {
            "flags": ["copy_applied_twice"]
            if models.CopyUse.objects.filter(application_id=other, doubled=True, withdrawn=False).exists()
            else []
        }
        for other in others
    }
