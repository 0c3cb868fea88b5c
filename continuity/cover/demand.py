"""How many applications a schedule asks for, worked out from the scenes in the order in which they are shot.

The rules, all common practice with no source:

1. A shoot day is looked at alone, one performer after another. A new shoot day is always a new application,
   also for a performer who works for two units on one date.
2. Scenes are shot one after another from the call to the wrap, in the order planned. A scene lasts its
   planned minutes. The scenes without planned minutes share what is left of the day by their page eighths
   (equally if none has any). A wrap that is not later than the call is on the next day.
3. A performer needs, for a look, the appliances of that look made for that performer, and the generic ones. A
   stunt or photo double is a performer like any other and needs copies of its own.
4. The first scene of the day in which a performer wears a look with appliances begins an application of each.
5. The same look in the performer's next scene is the same application: it is worn through, and scenes of
   others in between do not matter.
6. Another look is a new application, and so is the return to the first. A look without appliances (the bare
   face) is another look too. A change of look counts for every appliance of the new look, also for one that
   the old look had.
7. Make-up planned to come off after a scene is a new application when the look is next worn.
8. When an appliance would pass its wear limit by staying on, counted from the start of the first scene of
   this wearing to the end of the next scene, the next scene begins a new application of that appliance; the
   other appliances of the look stay on. A scene is never split: a single scene longer than the limit is one
   application.
9. A performer who is down for two looks in one scene changes from one to the other in the order listed.

Time in the chair, meals and travel are not counted: the planned minutes of a scene are the time of the scene.
Ids are text and are only compared.
"""

from __future__ import annotations

import datetime
import enum
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

MINUTES_A_DAY = 24 * 60


class Reason(enum.StrEnum):
    """Why a planned application is a new one."""

    FIRST_OF_THE_DAY = "first of the day"
    LOOK_CHANGE = "look change"
    TAKEN_OFF_BETWEEN = "taken off between"
    WEAR_LIMIT = "wear limit"


@dataclass(frozen=True)
class LookAppliance:
    """An appliance of a look. `performer_id` is None for a generic one; `wear_limit_minutes` None for no
    limit.
    """

    id: str
    performer_id: str | None
    copies_per_application: int
    wear_limit_minutes: int | None = None


@dataclass(frozen=True)
class Look:
    """A look and its appliances, each listed once; none for the bare face."""

    id: str
    appliances: tuple[LookAppliance, ...]


@dataclass(frozen=True)
class Worn:
    """A performer wears a look in a scene."""

    performer_id: str
    look_id: str


@dataclass(frozen=True)
class PlannedScene:
    """A scene on a shoot day. `planned_minutes` None means a share of what is left of the day.

    `taken_off_after` are the performers whose make-up comes off after this scene, whether or not they are in
    it.
    """

    scene_id: str
    number: str
    planned_minutes: int | None
    page_eighths: int
    worn: tuple[Worn, ...]
    taken_off_after: frozenset[str] = frozenset()


@dataclass(frozen=True)
class ShootDay:
    """A date with a unit. `call_minutes` and `wrap_minutes` are minutes after midnight of `date`; a wrap that
    is not later than the call is on the next day. Scenes are in the order planned.
    """

    id: str
    date: datetime.date
    call_minutes: int
    wrap_minutes: int
    scenes: tuple[PlannedScene, ...]


@dataclass(frozen=True)
class PlannedApplication:
    """One wearing of one appliance by one performer on one shoot day.

    `starts_at` and `ends_at` are minutes after midnight of `date`, from the start of the first of its scenes
    to the end of the last; above 1440 is past midnight. `copies` is what the application takes when none is
    spoiled.
    """

    appliance_id: str
    performer_id: str
    look_id: str
    day_id: str
    date: datetime.date
    scene_ids: tuple[str, ...]
    starts_at: int
    ends_at: int
    copies: int
    reason: Reason


def planned_applications(days: Iterable[ShootDay], looks: Mapping[str, Look]) -> list[PlannedApplication]:
    """Every application the schedule asks for: shoot days in the order given, within a day by start.

    Raises KeyError with the id of a look that a scene names and `looks` lacks.
    """
    return [application for day in days for application in _applications_of(day, looks)]


def copies_needed_by_date(applications: Iterable[PlannedApplication]) -> dict[str, dict[datetime.date, int]]:
    """Copies needed when none is spoiled: appliance id, then date in rising order, all units of a date
    together.

    This is what the cover takes. Dates that need none are left out.
    """
    needed: dict[str, dict[datetime.date, int]] = {}
    for application in sorted(applications, key=lambda application: application.date):
        by_date = needed.setdefault(application.appliance_id, {})
        by_date[application.date] = by_date.get(application.date, 0) + application.copies
    return needed


def scene_times(day: ShootDay) -> list[tuple[int, int]]:
    """Start and end of each scene of the day, in minutes after midnight of its date, by rule 2.

    Scenes without planned minutes get 0 when the others already fill the day.
    """
    wrap = day.wrap_minutes
    while wrap <= day.call_minutes:
        wrap += MINUTES_A_DAY
    planned = sum(scene.planned_minutes or 0 for scene in day.scenes)
    left = max(0, wrap - day.call_minutes - planned)
    unplanned = [scene for scene in day.scenes if scene.planned_minutes is None]
    eighths = sum(scene.page_eighths for scene in unplanned)
    whole = eighths or len(unplanned)

    times = []
    at, weight_so_far = day.call_minutes, 0
    for scene in day.scenes:
        minutes = scene.planned_minutes
        if minutes is None:
            # Shares are cut from the running sum, so that the rounded minutes still add up to what is left.
            before = left * weight_so_far // whole
            weight_so_far += scene.page_eighths if eighths else 1
            minutes = left * weight_so_far // whole - before
        times.append((at, at + minutes))
        at += minutes
    return times


@dataclass
class _Wearing:
    """One appliance while it is on."""

    appliance: LookAppliance
    reason: Reason
    starts_at: int
    ends_at: int
    scene_ids: list[str]


@dataclass
class _Face:
    """What one performer has on at this point of the day; `look_id` is the last look worn, on or off."""

    look_id: str
    on: dict[str, _Wearing] = field(default_factory=dict)
    taken_off: bool = False


def _applications_of(day: ShootDay, looks: Mapping[str, Look]) -> list[PlannedApplication]:
    faces: dict[str, _Face] = {}
    done: list[PlannedApplication] = []

    def finish(performer_id: str, wearing: _Wearing) -> None:
        done.append(
            PlannedApplication(
                appliance_id=wearing.appliance.id,
                performer_id=performer_id,
                look_id=faces[performer_id].look_id,
                day_id=day.id,
                date=day.date,
                scene_ids=tuple(wearing.scene_ids),
                starts_at=wearing.starts_at,
                ends_at=wearing.ends_at,
                copies=wearing.appliance.copies_per_application,
                reason=wearing.reason,
            )
        )

    def take_off(performer_id: str) -> None:
        face = faces[performer_id]
        for wearing in face.on.values():
            finish(performer_id, wearing)
        face.on = {}

    for scene, (starts_at, ends_at) in zip(day.scenes, scene_times(day), strict=True):
        for worn in dict.fromkeys(scene.worn):
            needed = [
                appliance
                for appliance in looks[worn.look_id].appliances
                if appliance.performer_id in (None, worn.performer_id)
            ]
            face = faces.get(worn.performer_id)
            if face is None:
                if not needed:
                    continue
                reason = Reason.FIRST_OF_THE_DAY
                face = faces[worn.performer_id] = _Face(worn.look_id)
            elif face.look_id != worn.look_id:
                reason = Reason.LOOK_CHANGE
                take_off(worn.performer_id)
                face.look_id = worn.look_id
            elif face.taken_off:
                reason = Reason.TAKEN_OFF_BETWEEN
            else:
                reason = Reason.WEAR_LIMIT
            face.taken_off = False
            for appliance in needed:
                wearing = face.on.get(appliance.id)
                limit = appliance.wear_limit_minutes
                if wearing is not None and (limit is None or ends_at - wearing.starts_at <= limit):
                    wearing.ends_at = ends_at
                    wearing.scene_ids.append(scene.scene_id)
                    continue
                if wearing is not None:
                    finish(worn.performer_id, wearing)
                face.on[appliance.id] = _Wearing(appliance, reason, starts_at, ends_at, [scene.scene_id])
        for performer_id in scene.taken_off_after:
            if performer_id in faces:
                take_off(performer_id)
                faces[performer_id].taken_off = True
    for performer_id in faces:
        take_off(performer_id)
    done.sort(key=lambda a: (a.starts_at, a.ends_at, a.performer_id, a.appliance_id))
    return done
