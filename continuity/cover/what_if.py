"""What if the schedule moves, copies are lost, or another target is wanted: the facts of a production as they
would be then. Nothing of it is stored; the cover is worked out from the changed facts as from any others.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from continuity.cover.demand import PlannedScene, ShootDay
from continuity.cover.order_words import counted, day_in_words, percent
from continuity.cover.production_facts import CopyLot, Place, ProductionFacts
from continuity.stock.grade import grade_serves
from continuity.sync.refusal import Code, Refusal

USUAL_HOURS = (7 * 60, 18 * 60)
"""Call and wrap, in minutes after midnight, of a day of its own while no shoot day is planned. Common
practice, no source."""


@dataclass(frozen=True)
class MoveShootDay:
    """The same scenes, in the same hours, on another date."""

    shoot_day: str
    date: datetime.date


@dataclass(frozen=True)
class AddShootDay:
    """One more shoot day. ``call_minutes`` and ``wrap_minutes`` are minutes after midnight."""

    date: datetime.date
    unit: str
    call_minutes: int
    wrap_minutes: int
    scenes: tuple[str, ...]


@dataclass(frozen=True)
class Reshoot:
    """A scene shot again, at the end of that date's first shoot day, or on a day of its own with the hours
    most shoot days have."""

    scene: str
    date: datetime.date


@dataclass(frozen=True)
class LoseCopies:
    """So many copies on set are lost: those set aside last, lower grades last, and of the others those that
    would be used first."""

    appliance: str
    copies: int


@dataclass(frozen=True)
class Target:
    """Another probability of never being short is wanted."""

    target: float


Change = MoveShootDay | AddShootDay | Reshoot | LoseCopies | Target


@dataclass(frozen=True)
class Units:
    """The units of a production: their names by id, and which unit each shoot day from today on is of."""

    names: Mapping[str, str]
    of_day: Mapping[str, str]


def what_if(
    facts: ProductionFacts, changes: Sequence[Change], units: Units
) -> tuple[ProductionFacts, tuple[str, ...]]:
    """The facts after the changes, one after another, and each change in one sentence.

    Raises `Refusal`, naming the change and its member: unknown_reference for what is not there,
    already_planned for a second shoot day of a unit on one date, not_a_request for a date gone by or more
    copies lost than there are.
    """
    words = []
    for at, change in enumerate(changes):
        try:
            facts, units, sentence = _changed(facts, change, units)
        except Refusal as fault:
            raise Refusal(fault.code, fault.message, field=f"changes.{at}.{fault.field}") from None
        words.append(sentence)
    return facts, tuple(words)


def _changed(facts: ProductionFacts, change: Change, units: Units) -> tuple[ProductionFacts, Units, str]:
    match change:
        case MoveShootDay():
            return _moved(facts, change, units)
        case AddShootDay():
            return _added(facts, change, units)
        case Reshoot():
            return _reshot(facts, change, units)
        case LoseCopies():
            return _lost(facts, change, units)
        case Target():
            return _wanted(facts, change, units)


def _moved(facts: ProductionFacts, change: MoveShootDay, units: Units) -> tuple[ProductionFacts, Units, str]:
    day = next((day for day in facts.shoot_days if day.id == change.shoot_day), None)
    if day is None:
        raise Refusal(Code.unknown_reference, "There is no such shoot day from today on.", field="shoot_day")
    unit = units.of_day[day.id]
    without = tuple(other for other in facts.shoot_days if other.id != day.id)
    _check_free(facts, change.date, unit, units, without)
    of_unit = f" of {units.names[unit]}" if unit in units.names else ""
    words = f"The shoot day{of_unit} on {day_in_words(day.date)} is moved to {day_in_words(change.date)}."
    return _with_days(facts, (*without, replace(day, date=change.date))), units, words


def _added(facts: ProductionFacts, change: AddShootDay, units: Units) -> tuple[ProductionFacts, Units, str]:
    if change.unit not in units.names:
        raise Refusal(Code.unknown_reference, "There is no such unit.", field="unit")
    _check_free(facts, change.date, change.unit, units, facts.shoot_days)
    scenes = tuple(_scene(facts, scene, f"scenes.{at}") for at, scene in enumerate(change.scenes))
    day = ShootDay(_new_id(facts), change.date, change.call_minutes, change.wrap_minutes, scenes)
    numbers, plural = ", ".join(scene.number for scene in scenes), "scene" if len(scenes) == 1 else "scenes"
    words = (
        f"One more shoot day of {units.names[change.unit]} on {day_in_words(change.date)}"
        f" with {f'{plural} {numbers}' if scenes else 'no scene'}."
    )
    known = Units(units.names, {**units.of_day, day.id: change.unit})
    return _with_days(facts, (*facts.shoot_days, day)), known, words


def _reshot(facts: ProductionFacts, change: Reshoot, units: Units) -> tuple[ProductionFacts, Units, str]:
    scene = _scene(facts, change.scene, "scene")
    _check_ahead(facts, change.date)
    on_date = [day for day in facts.shoot_days if day.date == change.date]
    words = f"Scene {scene.number} is shot again on {day_in_words(change.date)}"
    if on_date:
        first = min(on_date, key=lambda day: (day.call_minutes, day.id))
        joined = replace(first, scenes=(*first.scenes, scene))
        days = tuple(joined if day.id == first.id else day for day in facts.shoot_days)
        return _with_days(facts, days), units, f"{words}, after the scenes planned."
    hours = Counter((day.call_minutes, day.wrap_minutes) for day in facts.shoot_days)
    # Of two that are as usual, the earlier call.
    call, wrap = min(hours, key=lambda each: (-hours[each], each)) if hours else USUAL_HOURS
    day = ShootDay(_new_id(facts), change.date, call, wrap, (scene,))
    # A day of its own of no unit stands in nobody's way.
    known = Units(units.names, {**units.of_day, day.id: ""})
    return (
        _with_days(facts, (*facts.shoot_days, day)),
        known,
        f"{words}, a day of its own from {_clock(call)} to {_clock(wrap)}.",
    )


def _lost(facts: ProductionFacts, change: LoseCopies, units: Units) -> tuple[ProductionFacts, Units, str]:
    appliance = next((each for each in facts.appliances if each.id == change.appliance), None)
    if appliance is None:
        raise Refusal(Code.unknown_reference, "There is no such appliance.", field="appliance")
    on_set = [lot for lot in facts.lots if lot.appliance_id == appliance.id and lot.place is Place.ON_SET]
    there = sum(lot.copies for lot in on_set)
    if change.copies > there:
        words = f"Of {appliance.name} {counted(there, 'usable copy is', 'usable copies are')} on set."
        raise Refusal(Code.not_a_request, words, field="copies")

    def used_first(lot: CopyLot) -> tuple[bool, bool, datetime.date, tuple[str, ...]]:
        own = grade_serves(lot.grade, appliance.grade)
        return lot.set_aside_for is not None, not own, lot.use_by or datetime.date.max, lot.serials

    left = change.copies
    kept = [lot for lot in facts.lots if lot not in on_set]
    for lot in sorted(on_set, key=used_first):
        gone = min(left, lot.copies)
        left -= gone
        if gone < lot.copies:
            kept.append(replace(lot, serials=lot.serials[gone:]))
    number, verb = counted(change.copies, "copy", "copies"), "is" if change.copies == 1 else "are"
    words = f"{number} of {appliance.name} on set {verb} lost."
    return replace(facts, lots=tuple(kept)), units, words


def _wanted(facts: ProductionFacts, change: Target, units: Units) -> tuple[ProductionFacts, Units, str]:
    before = facts.settings.target
    words = f"A cover of {percent(change.target)} is wanted instead of {percent(before)}."
    return replace(facts, settings=replace(facts.settings, target=change.target)), units, words


def _with_days(facts: ProductionFacts, days: Sequence[ShootDay]) -> ProductionFacts:
    return replace(facts, shoot_days=tuple(sorted(days, key=lambda day: (day.date, day.id))))


def _scene(facts: ProductionFacts, scene: str, field: str) -> PlannedScene:
    found = facts.scenes.get(scene)
    if found is None:
        raise Refusal(Code.unknown_reference, "There is no such scene.", field=field)
    return found


def _check_ahead(facts: ProductionFacts, date: datetime.date) -> None:
    if date < facts.today:
        raise Refusal(Code.not_a_request, f"{day_in_words(date)} has gone by.", field="date")


def _check_free(
    facts: ProductionFacts, date: datetime.date, unit: str, units: Units, days: Sequence[ShootDay]
) -> None:
    _check_ahead(facts, date)
    if unit and any(day.date == date and units.of_day[day.id] == unit for day in days):
        raise Refusal(
            Code.already_planned,
            f"{units.names.get(unit, 'The unit')} shoots on {day_in_words(date)} already.",
            field="date",
        )


def _new_id(facts: ProductionFacts) -> str:
    """Of a shoot day that is nowhere else; sorted after those that are."""
    taken = {day.id for day in facts.shoot_days}
    number = 1
    while f"what if {number}" in taken:
        number += 1
    return f"what if {number}"


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
