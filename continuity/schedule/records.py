"""How the production, its story and its schedule become tables, and who may write them."""

from __future__ import annotations

from typing import Any, cast

from continuity.applications.documents import ApplicationDocument
from continuity.applications.models import Application
from continuity.people.documents import Role
from continuity.schedule import models
from continuity.schedule.documents import (
    CharacterDocument,
    LookDocument,
    ProductionDocument,
    SceneDocument,
    ShootDayDocument,
    UnitDocument,
)
from continuity.stock.models import Appliance
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import keep_apart, write_row

SCHEDULERS = frozenset({Role.CONTINUITY, Role.DEPARTMENT_HEAD})


def production_columns(document: ProductionDocument) -> dict[str, Any]:
    """What a production's row holds of its document."""
    return {
        "name": document.name,
        "time_zone": document.time_zone,
        "cover_target": document.cover_target,
        "prior_good": document.prior_good,
        "prior_spoiled": document.prior_spoiled,
        "transport_days": document.transport_days,
        "weekdays_off": [weekday.value for weekday in document.weekdays_off],
        "dates_off": [date.isoformat() for date in document.dates_off],
        "pour_confidence": document.pour_confidence,
        "yield_prior_good": document.yield_prior_good,
        "yield_prior_rejected": document.yield_prior_rejected,
        "colour_not_visible": document.colour_not_visible,
        "colour_close": document.colour_close,
        "colour_visible": document.colour_visible,
    }


def write_production(written: Written) -> Aftermath:
    document = cast(ProductionDocument, written.document)
    if written.record_id != written.production_id or written.withdrawn:
        raise Refusal(Code.not_allowed, "A production is made and ended elsewhere; here it is only edited.")
    models.Production.objects.filter(id=written.production_id).update(**production_columns(document))
    return Aftermath()


def write_unit(written: Written) -> Aftermath:
    document = cast(UnitDocument, written.document)
    write_row(models.Unit, written, name=document.name)
    return Aftermath()


def write_character(written: Written) -> Aftermath:
    document = cast(CharacterDocument, written.document)
    write_row(models.Character, written, name=document.name, performer_id=document.performer)
    return Aftermath()


def write_look(written: Written) -> Aftermath:
    """Raises `Refusal` when the established application may not become another in this way."""
    document = cast(LookDocument, written.document)
    _check_established(written, document, cast(LookDocument | None, written.before))
    look = write_row(
        models.Look,
        written,
        character_id=document.character,
        name=document.name,
        progression=document.progression or "",
        position=document.position,
        grades={str(appliance): grade.value for appliance, grade in document.grades.items()},
        chair_minutes=document.chair_minutes,
        established_id=document.established,
    )
    look.appliances.set(Appliance.objects.filter(id__in=document.appliances))
    return Aftermath()


def _check_established(written: Written, document: LookDocument, before: LookDocument | None) -> None:
    stood = before.established if before else None
    if document.established == stood:
        return
    if Role(written.entry.sent_by.role) not in SCHEDULERS:
        raise Refusal(
            Code.not_allowed,
            "What is established is said by continuity and the department head.",
            field="established",
        )
    if document.established:
        sheet = written.others.document(ApplicationDocument, document.established)
        taken_back = Application.objects.filter(id=document.established, withdrawn=True).exists()
        if sheet.look != written.record_id or taken_back:
            raise Refusal(
                Code.another_look,
                "That application is of another look, or was taken back.",
                field="established",
            )
    if stood and document.established_reason in {None, "", before.established_reason if before else None}:
        raise Refusal(
            Code.reason_missing,
            "Another application is established already; say why it no longer is.",
            field="established_reason",
        )


def write_scene(written: Written) -> Aftermath:
    document = cast(SceneDocument, written.document)
    refusal = Refusal(Code.number_taken, f"There is a scene {document.number} already.", field="number")
    keep_apart(models.Scene, written, refusal, number=document.number)
    scene = write_row(
        models.Scene,
        written,
        number=document.number,
        story_day=document.story_day,
        position=document.position,
        interior_exterior=document.interior_exterior or "",
        day_night=document.day_night or "",
        page_eighths=document.page_eighths,
        synopsis=document.synopsis or "",
    )
    scene.worn.all().delete()
    models.SceneWorn.objects.bulk_create(
        models.SceneWorn(
            scene=scene, character_id=worn.character, look_id=worn.look, performer_id=worn.performer
        )
        for worn in document.worn
    )
    return Aftermath()


def write_shoot_day(written: Written) -> Aftermath:
    document = cast(ShootDayDocument, written.document)
    refusal = Refusal(
        Code.already_planned, f"This unit has a shoot day on {document.date} already.", field="date"
    )
    keep_apart(models.ShootDay, written, refusal, unit=document.unit, date=document.date)
    day = write_row(
        models.ShootDay,
        written,
        date=document.date,
        unit_id=document.unit,
        crew_call=document.crew_call,
        wrap=document.wrap,
    )
    day.planned_scenes.all().delete()
    models.PlannedScene.objects.bulk_create(
        models.PlannedScene(
            shoot_day=day,
            scene_id=planned.scene,
            position=position,
            minutes=planned.minutes,
            taken_off_after=[str(performer) for performer in planned.taken_off_after],
        )
        for position, planned in enumerate(document.scenes)
    )
    day.calls.all().delete()
    models.Call.objects.bulk_create(
        models.Call(shoot_day=day, performer_id=call.performer, time=call.time) for call in document.calls
    )
    return Aftermath()


register(
    RecordKind("production", ProductionDocument, frozenset({Role.DEPARTMENT_HEAD}), write_production, True)
)
register(RecordKind("unit", UnitDocument, SCHEDULERS, write_unit))
register(RecordKind("character", CharacterDocument, SCHEDULERS, write_character))
register(RecordKind("look", LookDocument, SCHEDULERS | {Role.SET_ARTIST}, write_look))
register(RecordKind("scene", SceneDocument, SCHEDULERS, write_scene))
register(RecordKind("shoot_day", ShootDayDocument, SCHEDULERS, write_shoot_day))
