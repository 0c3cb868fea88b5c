"""Reading what the cover rests on from the database: each table once, in plain values."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Count, Q
from django.utils import timezone

from continuity.applications.documents import Outcome
from continuity.applications.models import CopyUse
from continuity.cover import demand
from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.order_facts import read_orders
from continuity.cover.production_facts import (
    BARE_FACE,
    ApplianceFacts,
    CopyLot,
    Logged,
    MouldFacts,
    Place,
    ProductionFacts,
    RunFacts,
    Settings,
)
from continuity.cover.reasons import LogLine
from continuity.cover.what_if import Units
from continuity.schedule.documents import Weekday
from continuity.schedule.models import Look, PlannedScene, Production, Scene, SceneWorn, ShootDay, Unit
from continuity.stock.grade import Grade
from continuity.stock.models import Appliance, CastRun, Copy, Mould

_WEEKDAYS = {weekday.value: number for number, weekday in enumerate(Weekday)}


def today_of(production: Production) -> datetime.date:
    """Today where the production shoots."""
    return timezone.now().astimezone(ZoneInfo(production.time_zone)).date()


def read_facts(
    production_id: UUID,
    *,
    today: datetime.date | None = None,
    appliance_ids: Collection[UUID] | None = None,
) -> ProductionFacts:
    """A production as it stands. With `appliance_ids` only what bears on these appliances and those that
    share a mould with them; the logs are always all. Raises `Production.DoesNotExist`.
    """
    production = Production.objects.get(id=production_id)
    start = today or today_of(production)
    mine = {"production_id": production_id, "withdrawn": False}
    wanted = None if appliance_ids is None else _with_mates(production_id, appliance_ids)
    appliances = _appliances(mine, wanted)
    lots = _lots(production_id, start, wanted)
    kept = {lot.set_aside_for for lot in lots if lot.set_aside_for}
    scenes = _scenes(production_id, wanted, kept)
    shoot_days = _shoot_days(production_id, start, scenes)
    worn = {each.look_id for scene in scenes.values() for each in scene.worn}
    looks, grades = _looks(production_id, appliances, wanted, worn)
    known = {facts.id for facts, _, _ in appliances}
    return ProductionFacts(
        today=start,
        settings=_settings(production),
        appliances=tuple(facts for facts, _, _ in appliances),
        shoot_days=shoot_days,
        scenes=scenes,
        looks=looks,
        grades=grades,
        lots=lots,
        runs=_runs(mine, wanted),
        moulds=_moulds(mine, known),
        logs=_usage_logs(production_id),
        logged=_logged(production_id, start),
        orders=read_orders(production_id, {facts.id: facts.grade for facts, _, _ in appliances}, wanted),
        shot=_shot(start, kept),
    )


def _settings(production: Production) -> Settings:
    return Settings(
        target=production.cover_target,
        prior=Beta(production.prior_good, production.prior_spoiled),
        yield_prior=Beta(production.yield_prior_good, production.yield_prior_rejected),
        pour_confidence=production.pour_confidence,
        transport_days=production.transport_days,
        weekdays_off=frozenset(_WEEKDAYS[weekday] for weekday in production.weekdays_off),
        dates_off=frozenset(datetime.date.fromisoformat(date) for date in production.dates_off),
    )


def _with_mates(production_id: UUID, appliance_ids: Collection[UUID]) -> set[UUID]:
    """These appliances and all that share a mould with one of them, however far."""
    by_mould: dict[UUID, set[UUID]] = defaultdict(set)
    through = Mould.appliances.through.objects.filter(
        mould__production_id=production_id, mould__withdrawn=False
    )
    for mould, appliance in through.values_list("mould_id", "appliance_id"):
        by_mould[mould].add(appliance)
    found, before = set(appliance_ids), -1
    while len(found) != before:
        before = len(found)
        found.update(*(mates for mates in by_mould.values() if mates & found))
    return found


def _only(wanted: set[UUID] | None, column: str = "appliance_id") -> Q:
    return Q() if wanted is None else Q(**{f"{column}__in": wanted})


def _appliances(
    mine: dict[str, Any], wanted: set[UUID] | None
) -> list[tuple[ApplianceFacts, int, int | None]]:
    """By name: the facts, copies an application takes, and the wear limit in minutes."""
    rows = (
        Appliance.objects.filter(_only(wanted, "id"), **mine)
        .order_by("name", "id")
        .values_list(
            "id",
            "name",
            "grade",
            "performer_id",
            "shelf_life_days",
            "copies_per_application",
            "wear_limit_minutes",
        )
    )
    return [
        (ApplianceFacts(str(key), name, Grade(grade), _text(performer), shelf_life), copies, limit)
        for key, name, grade, performer, shelf_life, copies, limit in rows
    ]


def _scenes(
    production_id: UUID, wanted: set[UUID] | None, kept: Collection[str]
) -> dict[str, demand.PlannedScene]:
    """All scenes, with everybody in them. Or those who wear one of the appliances somewhere, and the scenes
    of shoot days on which they do, with those that copies are kept for.
    """
    worn: dict[UUID, dict[demand.Worn, None]] = defaultdict(dict)
    people = SceneWorn.objects.filter(scene__production_id=production_id, scene__withdrawn=False)
    if wanted is not None:
        looks = Look.appliances.through.objects.filter(appliance_id__in=wanted).values("look_id")
        who = people.filter(look_id__in=looks).values_list("performer_id", "character__performer_id")
        wearers = {performer or own for performer, own in who.distinct()}
        named = Q(performer_id__isnull=True, character__performer_id__in=wearers)
        people = people.filter(Q(performer_id__in=wearers) | named)
    for scene, performer, own, look in people.order_by("id").values_list(
        "scene_id", "performer_id", "character__performer_id", "look_id"
    ):
        if performer or own:
            worn[scene][demand.Worn(str(performer or own), str(look) if look else BARE_FACE.id)] = None
    rows = Scene.objects.filter(production_id=production_id, withdrawn=False)
    if wanted is not None:
        # The others of a day are there for the hours they take.
        days = PlannedScene.objects.filter(scene_id__in=[*worn, *kept]).values("shoot_day_id")
        beside = PlannedScene.objects.filter(shoot_day_id__in=days).values("scene_id")
        rows = rows.filter(Q(id__in=beside) | Q(id__in=kept))
    return {
        str(key): demand.PlannedScene(
            scene_id=str(key),
            number=number,
            planned_minutes=None,
            page_eighths=eighths,
            worn=tuple(worn.get(key, ())),
        )
        for key, number, eighths in rows.values_list("id", "number", "page_eighths")
    }


def _shoot_days(
    production_id: UUID, start: datetime.date, scenes: dict[str, demand.PlannedScene]
) -> tuple[demand.ShootDay, ...]:
    ahead = {
        "shoot_day__production_id": production_id,
        "shoot_day__withdrawn": False,
        "shoot_day__date__gte": start,
    }
    planned: dict[UUID, list[demand.PlannedScene]] = defaultdict(list)
    for day, scene_id, minutes, taken_off in (
        PlannedScene.objects.filter(**ahead)
        .order_by("shoot_day_id", "position")
        .values_list("shoot_day_id", "scene_id", "minutes", "taken_off_after")
    ):
        scene = scenes.get(str(scene_id))
        if scene is not None:
            planned[day].append(
                demand.PlannedScene(
                    scene.scene_id,
                    scene.number,
                    minutes,
                    scene.page_eighths,
                    scene.worn,
                    frozenset(taken_off),
                )
            )
    rows = ShootDay.objects.filter(production_id=production_id, withdrawn=False, date__gte=start)
    return tuple(
        demand.ShootDay(
            id=str(key),
            date=date,
            call_minutes=call.hour * 60 + call.minute,
            wrap_minutes=wrap.hour * 60 + wrap.minute,
            scenes=tuple(planned.get(key, ())),
        )
        for key, date, call, wrap in rows.order_by("date", "id").values_list(
            "id", "date", "crew_call", "wrap"
        )
    )


def _looks(
    production_id: UUID,
    appliances: list[tuple[ApplianceFacts, int, int | None]],
    wanted: set[UUID] | None,
    worn: set[str],
) -> tuple[dict[str, demand.Look], dict[tuple[str, str], Grade]]:
    """Every look `worn`, and what the looks say of grades."""
    pieces = {
        facts.id: demand.LookAppliance(facts.id, facts.performer_id, copies, limit)
        for facts, copies, limit in appliances
    }
    of_look: dict[UUID, list[demand.LookAppliance]] = defaultdict(list)
    through = Look.appliances.through.objects.filter(_only(wanted), look__production_id=production_id)
    for look, appliance in through.order_by("look_id", "appliance_id").values_list("look_id", "appliance_id"):
        if str(appliance) in pieces:
            of_look[look].append(pieces[str(appliance)])
    looks = {key: demand.Look(key, ()) for key in worn}
    looks |= {str(key): demand.Look(str(key), tuple(pieces_of)) for key, pieces_of in of_look.items()}
    looks[BARE_FACE.id] = BARE_FACE
    grades = {}
    asking = Look.objects.filter(production_id=production_id).exclude(grades={})
    if wanted is not None:
        asking = asking.filter(id__in=of_look)
    for key, asked in asking.values_list("id", "grades"):
        for appliance_id, grade in asked.items():
            grades[str(key), str(appliance_id)] = Grade(grade)
    return looks, grades


def _lots(production_id: UUID, start: datetime.date, wanted: set[UUID] | None) -> tuple[CopyLot, ...]:
    serials: dict[tuple[Any, ...], list[str]] = defaultdict(list)
    copies = Copy.objects.filter(
        Q(use_by__isnull=True) | Q(use_by__gte=start),
        _only(wanted),
        production_id=production_id,
        withdrawn=False,
        state__in=[place.value for place in Place],
    )
    for *common, serial in copies.order_by("serial", "id").values_list(
        "appliance_id", "state", "grade", "use_by", "expected_on", "set_aside_for_id", "serial"
    ):
        serials[tuple(common)].append(serial)
    return tuple(
        CopyLot(
            appliance_id=str(appliance),
            place=Place(state),
            grade=Grade(grade),
            use_by=use_by,
            expected_on=expected_on,
            set_aside_for=_text(scene),
            serials=tuple(found),
        )
        for (appliance, state, grade, use_by, expected_on, scene), found in serials.items()
    )


def _shot(start: datetime.date, scenes: set[str]) -> frozenset[str]:
    if not scenes:
        return frozenset()
    past = PlannedScene.objects.filter(
        scene_id__in=scenes, shoot_day__withdrawn=False, shoot_day__date__lt=start
    )
    return frozenset(str(scene) for scene in past.values_list("scene_id", flat=True))


def _runs(mine: dict[str, Any], wanted: set[UUID] | None) -> tuple[RunFacts, ...]:
    rows = CastRun.objects.filter(_only(wanted), good__isnull=True, **mine).order_by("due_on", "id")
    return tuple(
        RunFacts(str(key), str(appliance), str(mould), cast_on, due_on, planned)
        for key, appliance, mould, cast_on, due_on, planned in rows.values_list(
            "id", "appliance_id", "mould_id", "cast_on", "due_on", "copies_planned"
        )
    )


def casts_by_mould(production_id: UUID) -> dict[UUID, tuple[int, int]]:
    """Of each mould with a finished run: the copies that passed with their appliance's own grade, and all
    that were poured. A copy of a lower grade is a copy, but not one of those that were asked for."""
    casts: dict[UUID, list[int]] = defaultdict(lambda: [0, 0])
    finished = CastRun.objects.filter(production_id=production_id, withdrawn=False, good__isnull=False)
    for mould, planned, good, lower, rejected in finished.values_list(
        "mould_id", "copies_planned", "good", "lower_grade", "rejected"
    ):
        casts[mould][0] += (good or 0) - lower
        # What was planned and neither passed nor is among the rejected did not come out either.
        casts[mould][1] += max(planned, (good or 0) + sum(part["copies"] for part in rejected))
    return {mould: (good, poured) for mould, (good, poured) in casts.items()}


def _moulds(mine: dict[str, Any], known: set[str]) -> tuple[MouldFacts, ...]:
    casts = casts_by_mould(mine["production_id"])
    of_mould: dict[UUID, list[str]] = defaultdict(list)
    through = Mould.appliances.through.objects.filter(
        mould__production_id=mine["production_id"], mould__withdrawn=False
    )
    for mould, appliance in through.order_by("appliance_id").values_list("mould_id", "appliance_id"):
        if str(appliance) in known:
            of_mould[mould].append(str(appliance))
    rows = Mould.objects.filter(**mine).order_by("name", "id")
    return tuple(
        MouldFacts(str(key), name, tuple(of_mould[key]), cavities, cycles, *casts.get(key, (0, 0)))
        for key, name, cavities, cycles in rows.values_list("id", "name", "cavities", "cycles_per_day")
    )


def _usage_logs(production_id: UUID) -> dict[str, UsageLog]:
    counts: dict[str, dict[str, int]] = defaultdict(dict)
    uses = CopyUse.objects.filter(copy_used__production_id=production_id, withdrawn=False)
    for appliance, outcome, number in uses.values_list("copy_used__appliance_id", "outcome").annotate(
        number=Count("id")
    ):
        counts[str(appliance)][outcome] = number
    return {
        appliance: UsageLog(
            good=by_outcome.get(Outcome.GOOD, 0),
            spoiled=by_outcome.get(Outcome.SPOILED, 0),
            lost=by_outcome.get(Outcome.LOST, 0),
        )
        for appliance, by_outcome in counts.items()
    }


def read_log(production_id: UUID, appliance_id: UUID) -> list[LogLine]:
    """The log of an appliance, the last line first: the uses that its rates are learnt from. Nothing of it
    speaks of anyone's health.
    """
    uses = CopyUse.objects.filter(
        application__production_id=production_id, copy_used__appliance_id=appliance_id, withdrawn=False
    )
    rows = uses.order_by("-application__date", "-application__first_seq", "id").values_list(
        "application_id",
        "application__date",
        "application__performer_id",
        "application__look_id",
        "copy_used_id",
        "outcome",
        "why",
    )
    return [
        LogLine(str(application), date, str(performer), str(look), str(copy), outcome, why)
        for application, date, performer, look, copy, outcome, why in rows
    ]


def read_units(production_id: UUID, start: datetime.date) -> Units:
    """The units, and which of them each shoot day from ``start`` on is of."""
    units = Unit.objects.filter(production_id=production_id, withdrawn=False)
    days = ShootDay.objects.filter(production_id=production_id, withdrawn=False, date__gte=start)
    return Units(
        names={str(key): name for key, name in units.values_list("id", "name")},
        of_day={str(key): str(unit) for key, unit in days.values_list("id", "unit_id")},
    )


def _logged(production_id: UUID, start: datetime.date) -> tuple[Logged, ...]:
    """One for each sheet and appliance. A sheet on which every copy was spoiled or lost is still to do."""
    rows = (
        CopyUse.objects.filter(
            application__production_id=production_id,
            application__date__gte=start,
            withdrawn=False,
            outcome=Outcome.GOOD,
        )
        .values_list(
            "application_id",
            "copy_used__appliance_id",
            "application__performer_id",
            "application__look_id",
            "application__date",
        )
        .distinct()
    )
    return tuple(
        Logged(str(appliance), str(performer), str(look), date)
        for _, appliance, performer, look, date in rows
    )


def _text(key: UUID | None) -> str | None:
    return None if key is None else str(key)
