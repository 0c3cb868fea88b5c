"""How recipes and applications become tables, and what an application does to the copies it takes."""

from __future__ import annotations

from typing import Any, cast
from uuid import UUID

from continuity.applications import models
from continuity.applications.documents import ApplicationDocument, CopyUse, RecipeDocument
from continuity.applications.sheet_warnings import SheetFacts, sheet_warnings
from continuity.people.documents import PerformerDocument
from continuity.people.roles import APPLIERS
from continuity.photos.services import expect_photos, file_states
from continuity.stock.copy_states import restate_copies
from continuity.stock.documents import ApplianceDocument, CopyDocument, MaterialDocument
from continuity.sync.document import Document
from continuity.sync.documents import ConflictDocument, ConflictSort
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row


def write_recipe(written: Written) -> Aftermath:
    """A version never changes; two people who make the same version at once are both kept and shown."""
    document = cast(RecipeDocument, written.document)
    write_row(
        models.Recipe,
        written,
        name=document.name,
        look_id=document.look,
        version=document.version,
        previous_id=document.previous,
    )
    twin = None
    if written.before is None:
        twin = (
            models.Recipe.objects.filter(
                production_id=written.production_id,
                look_id=document.look,
                name=document.name,
                version=document.version,
                withdrawn=False,
            )
            .exclude(id=written.record_id)
            .first()
        )
    conflicts: list[Document] = []
    if twin:
        conflicts.append(
            ConflictDocument(
                sort=ConflictSort.RECIPE_VERSION_TWICE,
                about_kind="recipe",
                about=written.record_id,
                other=twin.id,
                entry=written.entry.id,
            )
        )
    return Aftermath(conflicts=conflicts)


def write_application(written: Written) -> Aftermath:
    """Put a sheet into the tables, move its copies, open a conflict for each copy another sheet has too."""
    sheet = cast(ApplicationDocument, written.document)
    before = cast(ApplicationDocument | None, written.before)
    first_seq = (
        written.entry.seq
        if before is None
        else models.Application.objects.values_list("first_seq", flat=True).get(id=written.record_id)
    )
    application = write_row(
        models.Application,
        written,
        performer_id=sheet.performer,
        look_id=sheet.look,
        date=sheet.date,
        artist_id=sheet.artist,
        recipe_id=sheet.recipe,
        started_at=sheet.started_at,
        ready_at=sheet.ready_at,
        on_camera_at=sheet.on_camera_at,
        removed_at=sheet.removed_at,
        first_seq=first_seq,
    )
    if before is None or before.scenes != sheet.scenes:
        _write_scenes(application, sheet, new=before is None)
    touched, conflicts, others = _write_copies(application, sheet, written, before)
    if before is None or before.photos != sheet.photos or written.withdrawn:
        expect_photos(application, sheet.photos)
    restated = restate_copies(touched, written.entry) if touched else {}
    return Aftermath(
        derived=application_derived(application, sheet, written),
        others={**restated, **others},
        conflicts=conflicts,
    )


def application_derived(
    application: models.Application, sheet: ApplicationDocument, written: Written
) -> dict[str, Any]:
    """What the server says of a sheet: its warnings, whether its photos' files are in, and its flags."""
    uses = list(application.copies.all()) if sheet.copies else []
    used_elsewhere = frozenset(
        models.CopyUse.objects.filter(
            copy_used_id__in=[use.copy_used_id for use in uses],
            withdrawn=False,
            application__first_seq__lt=application.first_seq,
        ).values_list("copy_used_id", flat=True)
        if uses
        else ()
    )
    overridden = {*sheet.overridden, *sheet.health_overridden}
    told: dict[str, list[dict[str, Any]]] = {"warnings": [], "health_warnings": []}
    for warning in sheet_warnings(_facts(sheet, used_elsewhere, written)):
        told["health_warnings" if warning.about_health else "warnings"].append(
            {
                "key": warning.key,
                "code": warning.code,
                "words": warning.words,
                "overridden": warning.key in overridden,
            }
        )
    return {
        **told,
        "files": file_states(application.production_id, sheet.photos.values()),
        "flags": ["copy_applied_twice"] if any(use.doubled for use in uses) else [],
    }


def _facts(sheet: ApplicationDocument, used_elsewhere: frozenset[UUID], written: Written) -> SheetFacts:
    fetch = written.fetch

    def read(kind: type[Document], record_id: UUID) -> Any:
        return kind.model_validate(fetch(record_id), strict=False)

    performer = cast(PerformerDocument, read(PerformerDocument, sheet.performer))
    copies = {
        use.copy_used: cast(CopyDocument, read(CopyDocument, use.copy_used)) for use in sheet.copies.values()
    }
    appliances = {
        copy.appliance: cast(ApplianceDocument, read(ApplianceDocument, copy.appliance))
        for copy in copies.values()
    }
    wanted = {adhesive.material for adhesive in sheet.adhesives.values()}
    wanted |= {material for material in (sheet.edge_solvent, sheet.sealer, sheet.remover) if material}
    if sheet.adhesives:
        wanted |= {test.material for test in performer.patch_tests.values()}
    return SheetFacts(
        sheet=sheet,
        performer=performer,
        copies=copies,
        appliances=appliances,
        materials={material: cast(MaterialDocument, read(MaterialDocument, material)) for material in wanted},
        performer_names={
            appliance.performer: str(fetch(appliance.performer)["name"])
            for appliance in appliances.values()
            if appliance.performer
        },
        used_elsewhere=used_elsewhere,
        at=written.entry.happened_at,
    )


def _write_scenes(application: models.Application, sheet: ApplicationDocument, *, new: bool) -> None:
    through = models.Application.scenes.through
    if not new:
        through.objects.filter(application_id=application.id).delete()
    through.objects.bulk_create(
        through(application_id=application.id, scene_id=scene) for scene in dict.fromkeys(sheet.scenes)
    )


def _write_copies(
    application: models.Application,
    sheet: ApplicationDocument,
    written: Written,
    before: ApplicationDocument | None,
) -> tuple[set[UUID], list[Document], dict[UUID, dict[str, Any]]]:
    """Rewrite the sheet's copy uses. Returns the copies to restate, the conflicts to open, and the flags of
    other sheets that changed."""
    if before is None:
        touched = {use.copy_used for use in sheet.copies.values()}
        if not touched:
            return set(), [], {}
    else:
        removal_changed = before.removed_at != sheet.removed_at
        if before.copies == sheet.copies and not removal_changed and not written.withdrawn:
            return set(), [], {}
        touched = {use.copy_used for use in (*before.copies.values(), *sheet.copies.values())}
        application.copies.all().delete()
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
    others = _settle_doubles(touched, application) if taken_elsewhere or before is not None else {}
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
    return touched, conflicts, others


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


register(RecordKind("recipe", RecipeDocument, APPLIERS, write_recipe, never_changes=True))
register(RecordKind("application", ApplicationDocument, APPLIERS, write_application))
