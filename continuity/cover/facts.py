"""Reading what the cover rests on from the database: each table once, in plain values."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Coalesce
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
from continuity.cover.statement import Statement
from continuity.cover.what_if import Units
from continuity.schedule.documents import Weekday
from continuity.schedule.models import Look, PlannedScene, Production, Scene, SceneWorn, ShootDay, Unit
from continuity.schedule.shoot_date import Hours, shoot_date
from continuity.stock.grade import Grade
from continuity.stock.models import Appliance, CastRun, Copy, Mould
from continuity.sync.statements import key_of, rows_where

_WEEKDAYS = {weekday.value: number for number, weekday in enumerate(Weekday)}


def today_of(production: Production) -> datetime.date:
    """Today where the production shoots; also after midnight the date of a night shoot that goes on."""
    clock = timezone.now().astimezone(ZoneInfo(production.time_zone)).replace(tzinfo=None)
    dates = [clock.date(), clock.date() - datetime.timedelta(days=1)]
    days = ShootDay.objects.filter(production_id=production.id, withdrawn=False, date__in=dates)
    return shoot_date(clock, (Hours(*hours) for hours in days.values_list("date", "crew_call", "wrap")))


def read_facts(
    production_id: UUID,
    *,
    today: datetime.date | None = None,
    appliance_ids: Collection[UUID] | None = None,
) -> ProductionFacts:
    """A production as it stands. With `appliance_ids` only what bears on these appliances and those that
    share a mould with them; the logs are always all. Raises `Production.DoesNotExist`.
    """
    found = rows_where(Production, "id = %s", [key_of(Production, production_id)])
    if not found:
        raise Production.DoesNotExist("There is no such production.")
    production = found[0]
    start = today or today_of(production)
    cast_in = _CAST_IN.rows(production_id)
    wanted = None if appliance_ids is None else _with_mates(cast_in, appliance_ids)
    if wanted is not None and not wanted:
        # Nothing is asked for, and no list in a statement is empty: an id that no appliance has.
        wanted = [str(production_id)]
    appliances = _appliances(production_id, wanted)
    lots = _lots(production_id, start, wanted)
    kept = sorted({lot.set_aside_for for lot in lots if lot.set_aside_for})
    scenes, shoot_days = _schedule(production_id, start, wanted, kept)
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
        runs=tuple(RunFacts(*row) for row in _RUNS.rows(production_id, wanted)),
        moulds=_moulds(production_id, cast_in, known),
        logs=_usage_logs(production_id),
        logged=tuple(Logged(*row[1:]) for row in _LOGGED.rows(production_id, start, wanted)),
        orders=read_orders(production_id, {facts.id: facts.grade for facts, _, _ in appliances}, wanted),
        shot=frozenset(scene for (scene,) in _SHOT.rows(start, kept)) if kept else frozenset(),
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


def _with_mates(cast_in: Sequence[tuple[str, str]], appliance_ids: Collection[UUID]) -> list[str]:
    """These appliances and all that share a mould with one of them, however far."""
    by_mould: dict[str, set[str]] = defaultdict(set)
    for mould, appliance in cast_in:
        by_mould[mould].add(appliance)
    found, before = {str(each) for each in appliance_ids}, -1
    while len(found) != before:
        before = len(found)
        found.update(*(mates for mates in by_mould.values() if mates & found))
    return sorted(found)


def _only(wanted: Collection[str] | None, column: str = "appliance_id") -> Q:
    return Q() if wanted is None else Q(**{f"{column}__in": wanted})


_CAST_IN = Statement(
    lambda production: (
        Mould.appliances.through.objects.filter(mould__production_id=production, mould__withdrawn=False)
        .order_by("appliance_id")
        .values_list("mould_id", "appliance_id")
    )
)
_APPLIANCES = Statement(
    lambda production, wanted: (
        Appliance.objects.filter(_only(wanted, "id"), production_id=production, withdrawn=False)
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
)


def _appliances(
    production_id: UUID, wanted: list[str] | None
) -> list[tuple[ApplianceFacts, int, int | None]]:
    """By name: the facts, copies an application takes, and the wear limit in minutes."""
    return [
        (ApplianceFacts(key, name, Grade(grade), performer, shelf_life), copies, limit)
        for key, name, grade, performer, shelf_life, copies, limit in _APPLIANCES.rows(production_id, wanted)
    ]


def _worn(production: Any, wanted: Any) -> QuerySet[Any, Any]:
    """Who is in which scene, where anybody is known."""
    people = (
        SceneWorn.objects.filter(scene__production_id=production, scene__withdrawn=False)
        .annotate(who=Coalesce("performer_id", "character__performer_id"))
        .filter(who__isnull=False)
    )
    wearers = people
    if wanted is not None:
        looks = Look.appliances.through.objects.filter(appliance_id__in=wanted).values("look_id")
        wearers = people.filter(who__in=people.filter(look_id__in=looks).values("who"))
    return wearers.order_by("id").values_list("scene_id", "who", "look_id")


_WORN = Statement(_worn)
_SCENES = Statement(
    lambda production, some: Scene.objects.filter(
        _only(some, "id"), production_id=production, withdrawn=False
    ).values_list("id", "number", "page_eighths")
)
_PLANNED = Statement(
    lambda production, start: (
        PlannedScene.objects.filter(
            shoot_day__production_id=production,
            shoot_day__withdrawn=False,
            shoot_day__date__gte=start,
            scene__withdrawn=False,
        )
        .order_by("shoot_day_id", "position")
        .values_list(
            "shoot_day_id", "scene_id", "scene__number", "scene__page_eighths", "minutes", "taken_off_after"
        )
    )
)
_SHOOT_DAYS = Statement(
    lambda production, start: (
        ShootDay.objects.filter(production_id=production, withdrawn=False, date__gte=start)
        .order_by("date", "id")
        .values_list("id", "date", "crew_call", "wrap")
    )
)


def _schedule(
    production_id: UUID, start: datetime.date, wanted: list[str] | None, kept: Collection[str]
) -> tuple[dict[str, demand.PlannedScene], tuple[demand.ShootDay, ...]]:
    """All scenes, with everybody in them, and the shoot days to come. Or the scenes of those shoot days on
    which somebody is in a scene who wears one of the appliances somewhere, with those that copies are kept
    for: the others of a day are there for the hours they take.
    """
    worn: dict[str, dict[demand.Worn, None]] = defaultdict(dict)
    for scene, who, look in _WORN.rows(production_id, wanted):
        worn[scene][demand.Worn(who, look or BARE_FACE.id)] = None
    planned_rows = _PLANNED.rows(production_id, start)
    rows: list[tuple[Any, ...]] = []
    if wanted is None:
        rows = _SCENES.rows(production_id, None)
    else:
        if kept:
            rows = _SCENES.rows(production_id, kept)
        days = {row[0] for row in planned_rows if row[1] in worn or row[1] in kept}
        planned_rows = [row for row in planned_rows if row[0] in days]
        rows += [row[1:4] for row in planned_rows]
    scenes = {
        key: demand.PlannedScene(
            scene_id=key,
            number=number,
            planned_minutes=None,
            page_eighths=eighths,
            worn=tuple(worn.get(key, ())),
        )
        for key, number, eighths in rows
    }
    planned: dict[str, list[demand.PlannedScene]] = defaultdict(list)
    for day, key, number, eighths, minutes, taken_off in planned_rows:
        planned[day].append(
            demand.PlannedScene(key, number, minutes, eighths, scenes[key].worn, frozenset(taken_off))
        )
    return scenes, tuple(
        demand.ShootDay(
            id=key,
            date=date,
            call_minutes=call.hour * 60 + call.minute,
            wrap_minutes=wrap.hour * 60 + wrap.minute,
            scenes=tuple(planned.get(key, ())),
        )
        for key, date, call, wrap in _SHOOT_DAYS.rows(production_id, start)
    )


_LOOKS = Statement(
    lambda production, wanted: (
        Look.appliances.through.objects.filter(_only(wanted), look__production_id=production)
        .order_by("look_id", "appliance_id")
        .values_list("look_id", "appliance_id", "look__grades")
    )
)


def _looks(
    production_id: UUID,
    appliances: list[tuple[ApplianceFacts, int, int | None]],
    wanted: list[str] | None,
    worn: set[str],
) -> tuple[dict[str, demand.Look], dict[tuple[str, str], Grade]]:
    """Every look `worn`, and what the looks say of grades."""
    pieces = {
        facts.id: demand.LookAppliance(facts.id, facts.performer_id, copies, limit)
        for facts, copies, limit in appliances
    }
    of_look: dict[str, list[demand.LookAppliance]] = defaultdict(list)
    grades = {}
    for look, appliance, asked in _LOOKS.rows(production_id, wanted):
        if appliance in pieces:
            of_look[look].append(pieces[appliance])
            for of, grade in asked.items():
                grades[look, of] = Grade(grade)
    looks = {key: demand.Look(key, ()) for key in worn}
    looks |= {key: demand.Look(key, tuple(pieces_of)) for key, pieces_of in of_look.items()}
    looks[BARE_FACE.id] = BARE_FACE
    return looks, grades


_LOTS = Statement(
    lambda production, start, wanted: (
        Copy.objects.filter(
            Q(use_by__isnull=True) | Q(use_by__gte=start),
            _only(wanted),
            production_id=production,
            withdrawn=False,
            state__in=[place.value for place in Place],
        )
        .order_by("serial", "id")
        .values_list("appliance_id", "state", "grade", "use_by", "expected_on", "set_aside_for_id", "serial")
    )
)


def _lots(production_id: UUID, start: datetime.date, wanted: list[str] | None) -> tuple[CopyLot, ...]:
    serials: dict[tuple[Any, ...], list[str]] = defaultdict(list)
    for row in _LOTS.rows(production_id, start, wanted):
        serials[row[:-1]].append(row[-1])
    return tuple(
        CopyLot(
            appliance_id=appliance,
            place=Place(state),
            grade=Grade(grade),
            use_by=use_by,
            expected_on=expected_on,
            set_aside_for=scene,
            serials=tuple(found),
        )
        for (appliance, state, grade, use_by, expected_on, scene), found in serials.items()
    )


_SHOT = Statement(
    lambda start, scenes: PlannedScene.objects.filter(
        scene_id__in=scenes, shoot_day__withdrawn=False, shoot_day__date__lt=start
    ).values_list("scene_id")
)
_RUNS = Statement(
    lambda production, wanted: (
        CastRun.objects.filter(_only(wanted), good__isnull=True, production_id=production, withdrawn=False)
        .order_by("due_on", "id")
        .values_list("id", "appliance_id", "mould_id", "cast_on", "due_on", "copies_planned")
    )
)
_FINISHED_RUNS = Statement(
    lambda production: CastRun.objects.filter(
        production_id=production, withdrawn=False, good__isnull=False
    ).values_list("mould_id", "copies_planned", "good", "lower_grade", "rejected")
)
_MOULDS = Statement(
    lambda production: (
        Mould.objects.filter(production_id=production, withdrawn=False)
        .order_by("name", "id")
        .values_list("id", "name", "cavities", "cycles_per_day")
    )
)
_USES = Statement(
    lambda production: (
        CopyUse.objects.filter(copy_used__production_id=production, withdrawn=False)
        .values_list("copy_used__appliance_id")
        .annotate(
            good=Count("id", filter=Q(outcome=Outcome.GOOD)),
            spoiled=Count("id", filter=Q(outcome=Outcome.SPOILED)),
            lost=Count("id", filter=Q(outcome=Outcome.LOST)),
        )
    )
)
# A sheet on which every copy was spoiled or lost is still to do.
_LOGGED = Statement(
    lambda production, start, wanted: (
        CopyUse.objects.filter(
            _only(wanted, "copy_used__appliance_id"),
            application__production_id=production,
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
)


def casts_by_mould(production_id: UUID) -> dict[UUID, tuple[int, int]]:
    """Of each mould with a finished run: the copies that passed with their appliance's own grade, and all
    that were poured. A copy of a lower grade is a copy, but not one of those that were asked for."""
    casts: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for mould, planned, good, lower, rejected in _FINISHED_RUNS.rows(production_id):
        casts[mould][0] += good - lower
        # What was planned and neither passed nor is among the rejected did not come out either.
        casts[mould][1] += max(planned, good + sum(part["copies"] for part in rejected))
    return {UUID(mould): (good, poured) for mould, (good, poured) in casts.items()}


def _moulds(
    production_id: UUID, cast_in: Sequence[tuple[str, str]], known: set[str]
) -> tuple[MouldFacts, ...]:
    casts = casts_by_mould(production_id)
    of_mould: dict[str, list[str]] = defaultdict(list)
    for mould, appliance in cast_in:
        if appliance in known:
            of_mould[mould].append(appliance)
    return tuple(
        MouldFacts(key, name, tuple(of_mould[key]), cavities, cycles, *casts.get(UUID(key), (0, 0)))
        for key, name, cavities, cycles in _MOULDS.rows(production_id)
    )


def _usage_logs(production_id: UUID) -> dict[str, UsageLog]:
    return {
        appliance: UsageLog(good=good, spoiled=spoiled, lost=lost)
        for appliance, good, spoiled, lost in _USES.rows(production_id)
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
