"""The cover of a production's appliances, from what its tables hold."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import timezone

from continuity.applications.documents import Outcome
from continuity.applications.models import CopyUse
from continuity.cover import demand
from continuity.cover.calculation import Arrival, Cover, Plan, PlannedDay, work_out_cover
from continuity.cover.consumption import Beta, UsageLog
from continuity.schedule.models import Look, Production, ShootDay
from continuity.stock.documents import CopyState
from continuity.stock.grade import Grade, grade_serves
from continuity.stock.models import Appliance, CastRun, Copy

BARE_FACE = demand.Look("bare face", ())
"""Worn by a person in a scene without a look: whatever they wore before has come off."""


@dataclass(frozen=True)
class ApplianceCover:
    """The cover of one appliance and what it rests on. ``applications`` and ``needed`` and ``arriving`` are
    counts by shoot day's date; ``undated`` copies are on their way without a date and count for nothing."""

    appliance_id: UUID
    cover: Cover
    log: UsageLog
    on_set: int
    in_transit: int
    due: int
    undated: int
    applications: dict[datetime.date, int]
    needed: dict[datetime.date, int]
    arriving: dict[datetime.date, int]


def today_of(production: Production) -> datetime.date:
    """Today where the production shoots."""
    return timezone.now().astimezone(ZoneInfo(production.time_zone)).date()


def cover_of_production(production_id: UUID, *, today: datetime.date | None = None) -> list[ApplianceCover]:
    """The cover of every appliance from ``today`` on, by the appliance's name.

    A planned application that is logged already for today asks for no copies any more.
    """
    production = Production.objects.get(id=production_id)
    start = today or today_of(production)
    appliances = list(Appliance.objects.filter(production=production, withdrawn=False).order_by("name", "id"))
    shoot_days = list(
        ShootDay.objects.filter(production_id=production_id, withdrawn=False, date__gte=start)
        .order_by("date", "id")
        .prefetch_related("planned_scenes__scene__worn__character")
    )
    planned = _planned_applications(production_id, start, shoot_days)
    logs = _usage_logs(production_id)
    copies = _usable_copies(
        production_id, {appliance.id: Grade(appliance.grade) for appliance in appliances}, start
    )
    runs = _runs_due(production_id)
    days = sorted({day.date for day in shoot_days})
    found = []
    for appliance in appliances:
        mine = [application for application in planned if application.appliance_id == str(appliance.id)]
        found.append(_appliance_cover(production, appliance, mine, days, logs, copies, runs, start))
    return found


def _appliance_cover(
    production: Production,
    appliance: Appliance,
    planned: list[demand.PlannedApplication],
    days: list[datetime.date],
    logs: dict[UUID, UsageLog],
    copies: dict[UUID, list[Copy]],
    runs: dict[UUID, list[CastRun]],
    start: datetime.date,
) -> ApplianceCover:
    needed: Counter[datetime.date] = Counter()
    applications: Counter[datetime.date] = Counter()
    for application in planned:
        needed[application.date] += application.copies
        applications[application.date] += 1
    mine = copies.get(appliance.id, [])
    on_set = sum(copy.state == CopyState.ON_SET for copy in mine)
    travelling = [copy for copy in mine if copy.state == CopyState.IN_TRANSIT]
    at_shop = [copy for copy in mine if copy.state == CopyState.SHOP]
    arriving: Counter[datetime.date] = Counter()
    for copy in (*travelling, *at_shop):
        if copy.expected_on:
            arriving[max(copy.expected_on, start)] += 1
    for run in runs.get(appliance.id, []):
        arriving[max(run.due_on, start)] += run.copies_planned
    due = sum(run.copies_planned for run in runs.get(appliance.id, []))
    log = logs.get(appliance.id, UsageLog(0, 0))
    cover = work_out_cover(
        Plan(
            target=production.cover_target,
            prior=Beta(production.prior_good, production.prior_spoiled),
            log=log,
            on_set=on_set,
            arrivals=tuple(Arrival(date, count) for date, count in sorted(arriving.items())),
            days=tuple(PlannedDay(date, needed[date]) for date in days),
        )
    )
    return ApplianceCover(
        appliance_id=appliance.id,
        cover=cover,
        log=log,
        on_set=on_set,
        in_transit=len(travelling),
        due=due + len(at_shop),
        undated=sum(copy.expected_on is None for copy in (*travelling, *at_shop)),
        applications=dict(applications),
        needed=dict(needed),
        arriving=dict(arriving),
    )


def _planned_applications(
    production_id: UUID, start: datetime.date, shoot_days: list[ShootDay]
) -> list[demand.PlannedApplication]:
    looks = {
        str(look.id): demand.Look(
            str(look.id),
            tuple(
                demand.LookAppliance(
                    id=str(appliance.id),
                    performer_id=str(appliance.performer_id) if appliance.performer_id else None,
                    copies_per_application=appliance.copies_per_application,
                    wear_limit_minutes=appliance.wear_limit_minutes,
                )
                for appliance in look.appliances.all()
                if not appliance.withdrawn
            ),
        )
        for look in Look.objects.filter(production_id=production_id).prefetch_related("appliances")
    }
    looks[BARE_FACE.id] = BARE_FACE
    planned = demand.planned_applications([_demand_day(day) for day in shoot_days], looks)
    return _without_those_logged(production_id, start, planned)


def _demand_day(day: ShootDay) -> demand.ShootDay:
    return demand.ShootDay(
        id=str(day.id),
        date=day.date,
        call_minutes=day.crew_call.hour * 60 + day.crew_call.minute,
        wrap_minutes=day.wrap.hour * 60 + day.wrap.minute,
        scenes=tuple(
            demand.PlannedScene(
                scene_id=str(planned.scene_id),
                number=planned.scene.number,
                planned_minutes=planned.minutes,
                page_eighths=planned.scene.page_eighths,
                worn=tuple(
                    dict.fromkeys(
                        demand.Worn(
                            str(worn.performer_id or worn.character.performer_id),
                            str(worn.look_id) if worn.look_id else BARE_FACE.id,
                        )
                        for worn in planned.scene.worn.all()
                        if worn.performer_id or worn.character.performer_id
                    )
                ),
                taken_off_after=frozenset(planned.taken_off_after),
            )
            for planned in day.planned_scenes.all()
            if not planned.scene.withdrawn
        ),
    )


def _without_those_logged(
    production_id: UUID, start: datetime.date, planned: Iterable[demand.PlannedApplication]
) -> list[demand.PlannedApplication]:
    """Take off the day's plan what is on a face already: one planned application for each one logged with a
    good copy of the appliance, for the same performer, look and date, the earliest first."""
    logged: Counter[tuple[str, str, str, datetime.date]] = Counter()
    worn = (
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
    for _, appliance, performer, look, date in worn:
        logged[str(appliance), str(performer), str(look), date] += 1
    left = []
    for application in planned:
        key = (application.appliance_id, application.performer_id, application.look_id, application.date)
        if logged[key]:
            logged[key] -= 1
        else:
            left.append(application)
    return left


def _usage_logs(production_id: UUID) -> dict[UUID, UsageLog]:
    counts: Counter[tuple[UUID, str]] = Counter(
        CopyUse.objects.filter(application__production_id=production_id, withdrawn=False).values_list(
            "copy_used__appliance_id", "outcome"
        )
    )
    appliances = {appliance for appliance, _ in counts}
    return {
        appliance: UsageLog(good=counts[appliance, Outcome.GOOD], spoiled=counts[appliance, Outcome.SPOILED])
        for appliance in appliances
    }


def _usable_copies(
    production_id: UUID, wanted: dict[UUID, Grade], start: datetime.date
) -> dict[UUID, list[Copy]]:
    """Copies that can still be put on: on set or coming, not past their date, of a grade high enough."""
    found: dict[UUID, list[Copy]] = defaultdict(list)
    copies = Copy.objects.filter(
        Q(use_by__isnull=True) | Q(use_by__gte=start),
        production_id=production_id,
        withdrawn=False,
        state__in=[CopyState.ON_SET, CopyState.IN_TRANSIT, CopyState.SHOP],
    )
    for copy in copies:
        if copy.appliance_id in wanted and grade_serves(Grade(copy.grade), wanted[copy.appliance_id]):
            found[copy.appliance_id].append(copy)
    return found


def _runs_due(production_id: UUID) -> dict[UUID, list[CastRun]]:
    found: dict[UUID, list[CastRun]] = defaultdict(list)
    for run in CastRun.objects.filter(production_id=production_id, withdrawn=False, good__isnull=True):
        found[run.appliance_id].append(run)
    return found
