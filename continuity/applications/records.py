"""How recipes and applications become tables, and what an application does to the copies it takes."""

from __future__ import annotations

from typing import Any, cast
from uuid import UUID

from continuity.applications import models
from continuity.applications.copies import Taken, take_copies
from continuity.applications.documents import ApplicationDocument, RecipeDocument
from continuity.applications.sheet_warnings import SheetFacts, sheet_warnings
from continuity.people.documents import PerformerDocument
from continuity.people.roles import APPLIERS
from continuity.photos.services import expect_photos, told_of_files
from continuity.schedule.documents import LookDocument
from continuity.schedule.selectors import scenes_not_shot_before
from continuity.stock.documents import ApplianceDocument, CopyDocument, MaterialDocument
from continuity.stock.lots import write_draws
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
    application = models.Application(
        id=written.record_id,
        production_id=written.production_id,
        withdrawn=written.withdrawn,
        performer_id=sheet.performer,
        look_id=sheet.look,
        date=sheet.date,
        artist_id=sheet.artist,
        recipe_id=sheet.recipe,
        started_at=sheet.started_at,
        ready_at=sheet.ready_at,
        on_camera_at=sheet.on_camera_at,
        removed_at=sheet.removed_at,
        first_seq=written.entry.seq,
    )
    if before is None:
        written.rows.add(application)
    else:
        application.first_seq = models.Application.objects.values_list("first_seq", flat=True).get(
            id=application.id
        )
        application.save(force_update=True)
    if before is None or before.scenes != sheet.scenes:
        _write_scenes(application, sheet, written)
    taken = take_copies(application, sheet, written)
    used = {adhesive.material for adhesive in sheet.adhesives.values()}
    used |= {material for material in (sheet.edge_solvent, sheet.sealer, sheet.remover) if material}
    stale = write_draws(written, sheet.date, dict.fromkeys(used))
    if sheet.photos if before is None else before.photos != sheet.photos:
        expect_photos(application, sheet.photos)
    return Aftermath(
        derived=_derived(application, sheet, taken, written),
        others=taken.others,
        conflicts=taken.conflicts,
        stale=stale,
    )


def _derived(
    application: models.Application, sheet: ApplicationDocument, taken: Taken, written: Written
) -> dict[str, Any]:
    """What the server says of a sheet: its warnings, what has become of its photos' files, and its flags."""
    overridden = {*sheet.overridden, *sheet.health_overridden}
    told: dict[str, list[dict[str, Any]]] = {"warnings": [], "health_warnings": []}
    for warning in sheet_warnings(_facts(sheet, taken.used_before, written)):
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
        **told_of_files(application.production_id, sheet.photos.values()),
        "flags": ["copy_applied_twice"] if taken.flagged else [],
    }


def _facts(sheet: ApplicationDocument, used_elsewhere: frozenset[UUID], written: Written) -> SheetFacts:
    document = written.others.document
    performer = document(PerformerDocument, sheet.performer)
    copies = {use.copy_used: document(CopyDocument, use.copy_used) for use in sheet.copies.values()}
    appliances = {copy.appliance: document(ApplianceDocument, copy.appliance) for copy in copies.values()}
    wanted = {adhesive.material for adhesive in sheet.adhesives.values()}
    wanted |= {material for material in (sheet.edge_solvent, sheet.sealer, sheet.remover) if material}
    if sheet.adhesives:
        wanted |= {test.material for test in performer.patch_tests.values()}
    return SheetFacts(
        sheet=sheet,
        performer=performer,
        copies=copies,
        appliances=appliances,
        materials={material: document(MaterialDocument, material) for material in wanted},
        performer_names={
            appliance.performer: document(PerformerDocument, appliance.performer).name
            for appliance in appliances.values()
            if appliance.performer
        },
        used_elsewhere=used_elsewhere,
        at=written.entry.happened_at,
        grades=document(LookDocument, sheet.look).grades,
        scenes_ahead=scenes_not_shot_before(
            sheet.date, {copy.set_aside_for for copy in copies.values() if copy.set_aside_for}
        ),
    )


def _write_scenes(application: models.Application, sheet: ApplicationDocument, written: Written) -> None:
    through = models.Application.scenes.through
    if written.before is not None:
        through.objects.filter(application_id=application.id).delete()
    written.rows.add(
        *(through(application_id=application.id, scene_id=scene) for scene in dict.fromkeys(sheet.scenes))
    )


register(RecordKind("recipe", RecipeDocument, APPLIERS, write_recipe, never_changes=True))
register(RecordKind("application", ApplicationDocument, APPLIERS, write_application))
