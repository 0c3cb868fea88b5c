"""The demo's set-up as entries: people, looks, scenes, shoot days, appliances, copies, materials, recipes."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from continuity.applications.documents import RecipeDocument, RecipeStep
from continuity.demo import bench, stores, story
from continuity.demo.dates import Calendar
from continuity.demo.entries import EntryBook, mint
from continuity.people.documents import Allergy, PatchTest, PatchTestReading, PerformerDocument
from continuity.schedule.documents import (
    Call,
    CharacterDocument,
    LookDocument,
    PlannedScene,
    SceneDocument,
    ShootDayDocument,
    UnitDocument,
    Worn,
)
from continuity.stock.documents import (
    ApplianceDocument,
    CastRunDocument,
    CopyDocument,
    CopyState,
    MaterialDocument,
    MouldDocument,
    Rejected,
)

SET_UP_DAY = -36
PLANNING_DAY = -10
MINUTE = datetime.timedelta(minutes=1)


def write_set_up(book: EntryBook, calendar: Calendar) -> None:
    """Everything but the applications."""
    _write_people_and_looks(book, calendar)
    _write_schedule(book, calendar)
    _write_patch_tests(book, calendar)
    _write_copies(book, calendar, _write_cast_runs(book, calendar))
    _write_recipes(book, calendar)


def _minutes_from(calendar: Calendar, day: int, clock: str) -> Iterator[datetime.datetime]:
    moment = calendar.moment(day, clock)
    while True:
        yield moment
        moment += MINUTE


def _write_people_and_looks(book: EntryBook, calendar: Calendar) -> None:
    at = _minutes_from(calendar, SET_UP_DAY, "09:00")
    for key, name in story.UNITS:
        book.create("unit", key, "head", next(at), UnitDocument(name=name))
    for performer in story.PERFORMERS:
        doubles = book.id("performer", performer.doubles) if performer.doubles else None
        document = PerformerDocument(name=performer.name, doubles=doubles, note=performer.note)
        book.create("performer", performer.key, "artist", next(at), document)
    for character in story.CHARACTERS:
        performer_id = book.id("performer", character.performer)
        document_of_it = CharacterDocument(name=character.name, performer=performer_id)
        book.create("character", character.key, "continuity", next(at), document_of_it)
    for material in stores.MATERIALS:
        expires = None
        if material.expires is not None:
            expires = calendar.today + datetime.timedelta(days=material.expires)
        book.create(
            "material",
            material.key,
            "artist",
            next(at),
            MaterialDocument(
                name=material.name,
                use=material.use,
                solvent=material.solvent,
                lot=material.lot,
                expires_on=expires,
                contains=list(material.contains),
                note=material.note,
                **bench.counted(material.key),
            ),
        )
    for lot in bench.LOTS:
        opened = calendar.today + datetime.timedelta(days=lot.opened) if lot.opened is not None else None
        book.create(
            "material",
            lot.key,
            "shop",
            next(at),
            MaterialDocument(
                name=lot.name,
                use=lot.use,
                lot=lot.lot,
                expires_on=calendar.today + datetime.timedelta(days=lot.expires),
                opened_on=opened,
                amount=lot.amount,
                unit=lot.unit,
                low_below=lot.low_below,
                **lot.more,
            ),
        )
    _write_appliances(book, at)
    for look in story.LOOKS:
        book.create(
            "look",
            look.key,
            "head",
            next(at),
            LookDocument(
                character=book.id("character", look.character),
                name=look.name,
                progression=look.progression,
                position=look.position,
                appliances=[book.id("appliance", appliance) for appliance in look.appliances],
                chair_minutes=look.chair_minutes,
                note=look.note,
            ),
        )


def _write_appliances(book: EntryBook, at: Iterator[datetime.datetime]) -> None:
    for appliance in stores.APPLIANCES:
        book.create(
            "appliance",
            appliance.key,
            "shop",
            next(at),
            ApplianceDocument(
                name=appliance.name,
                performer=book.id("performer", appliance.performer) if appliance.performer else None,
                grade=appliance.grade,
                encapsulator=appliance.encapsulator,
                edge_solvent=appliance.edge_solvent,
                copies_per_application=appliance.copies_per_application,
                wear_limit_minutes=appliance.wear_limit_minutes,
                shelf_life_days=appliance.shelf_life_days,
                note=appliance.note,
                **bench.recipe(appliance.key, book.id("material", bench.GEL)),
            ),
        )
    for mould in stores.MOULDS:
        book.create(
            "mould",
            mould.key,
            "shop",
            next(at),
            MouldDocument(
                name=mould.name,
                appliances=[book.id("appliance", mould.appliance)],
                cavities=mould.cavities,
                cycle_minutes=mould.cycle_minutes,
                note=mould.note,
            ),
        )


def _write_schedule(book: EntryBook, calendar: Calendar) -> None:
    at = _minutes_from(calendar, PLANNING_DAY, "09:00")
    characters = {look.key: look.character for look in story.LOOKS}
    for position, scene in enumerate(story.SCENES, start=1):
        worn = []
        for wearing in scene.worn:
            performer, _, look = wearing.rpartition(":")
            worn.append(
                Worn(
                    character=book.id("character", characters[look]),
                    look=book.id("look", look),
                    performer=book.id("performer", performer) if performer else None,
                )
            )
        book.create(
            "scene",
            scene.number,
            "continuity",
            next(at),
            SceneDocument(
                number=scene.number,
                story_day=scene.story_day,
                position=position,
                interior_exterior=scene.where,
                day_night=scene.when,
                page_eighths=scene.page_eighths,
                synopsis=scene.synopsis,
                worn=worn,
            ),
        )
    for day in story.SHOOT_DAYS:
        planned = [
            PlannedScene(
                scene=book.id("scene", scene.scene),
                minutes=scene.minutes,
                taken_off_after=[book.id("performer", performer) for performer in scene.off_after],
            )
            for scene in day.scenes
        ]
        book.create(
            "shoot_day",
            f"{day.unit} {day.day}",
            "continuity",
            next(at),
            ShootDayDocument(
                date=calendar.date(day.day),
                unit=book.id("unit", day.unit),
                crew_call=day.crew_call,
                wrap=day.wrap,
                scenes=planned,
                calls=[Call(performer=book.id("performer", who), time=time) for who, time in day.calls],
                note=day.note,
            ),
        )


def _write_patch_tests(book: EntryBook, calendar: Calendar) -> None:
    for performer in story.PERFORMERS:
        at = calendar.moment(-33, "15:00")
        allergies = {
            str(mint(at, f"{performer.key} {substance}")): Allergy(substance=substance, note=note)
            for substance, note in performer.allergies
        }
        if allergies:
            patch = {key: allergy.model_dump(mode="json") for key, allergy in allergies.items()}
            book.edit("performer", performer.key, "artist", at, {"allergies": patch})
        for test in performer.patch_tests:
            last = calendar.moment(test.applied, "16:00") + datetime.timedelta(days=test.readings[-1][0])
            _write_patch_test(book, calendar, performer.key, test, last)
    performer_key, day, clock, late = story.LATE_PATCH_TEST
    _write_patch_test(book, calendar, performer_key, late, calendar.moment(day, clock))


def _write_patch_test(
    book: EntryBook, calendar: Calendar, performer: str, test: story.PatchTest, at: datetime.datetime
) -> None:
    applied = calendar.date(test.applied)
    name = f"{performer} patch test {test.material}"
    document = PatchTest(
        material=book.id("material", test.material),
        applied_on=applied,
        readings={
            mint(at, f"{name} reading {after}"): PatchTestReading(
                read_on=applied + datetime.timedelta(days=after), result=result, note=note
            )
            for after, result, note in test.readings
        },
    )
    patch = {"patch_tests": {str(mint(at, name)): document.model_dump(mode="json", exclude_none=True)}}
    book.edit("performer", performer, "artist", at, patch)


def _write_cast_runs(book: EntryBook, calendar: Calendar) -> dict[str, tuple[str, datetime.date]]:
    """Returns each good copy's run and the date it was cast, by serial."""
    moulds = {mould.key: mould.appliance for mould in stores.MOULDS}
    prefixes = {appliance.key: appliance.prefix for appliance in stores.APPLIANCES}
    counts: dict[str, int] = defaultdict(int)
    copies: dict[str, tuple[str, datetime.date]] = {}
    for run in stores.CAST_RUNS:
        key = f"{run.mould} {run.cast}"
        # A run still to be cast was planned the day before yesterday.
        at = calendar.moment(min(run.cast, -2), "08:30")
        book.create(
            "cast_run",
            key,
            "shop",
            at,
            CastRunDocument(
                mould=book.id("mould", run.mould),
                appliance=book.id("appliance", moulds[run.mould]),
                cast_on=calendar.date(run.cast),
                due_on=calendar.date(run.due),
                copies_planned=run.planned,
                note=run.note,
            ),
        )
        if not run.finished:
            continue
        done = calendar.moment(run.due, "16:00")
        good = run.planned - sum(number for number, _ in run.rejected)
        rejected = {
            str(mint(done, f"{key} {why}")): Rejected(copies=number, why=why).model_dump(mode="json")
            for number, why in run.rejected
        }
        patch: dict[str, Any] = {"good": good, **bench.weighed(book, calendar, key, run.cast)}
        if rejected:
            patch["rejected"] = rejected
        book.edit("cast_run", key, "shop", done, patch)
        prefix = prefixes[moulds[run.mould]]
        for _ in range(good):
            counts[prefix] += 1
            copies[f"{prefix}-{counts[prefix]:02}"] = (key, calendar.date(run.cast))
    return copies


def _write_copies(book: EntryBook, calendar: Calendar, copies: dict[str, tuple[str, datetime.date]]) -> None:
    appliances = {appliance.prefix: appliance for appliance in stores.APPLIANCES}
    due = {f"{run.mould} {run.cast}": run.due for run in stores.CAST_RUNS}
    for serial, (run, cast_on) in copies.items():
        appliance = appliances[serial.partition("-")[0]]
        grade, note = stores.LOWER_GRADES.get(serial, (appliance.grade, None))
        use_by = None
        if appliance.shelf_life_days:
            use_by = cast_on + datetime.timedelta(days=appliance.shelf_life_days)
        promised = stores.PROMISED.get(serial)
        book.create(
            "copy",
            serial,
            "shop",
            calendar.moment(due[run], "16:10"),
            CopyDocument(
                appliance=book.id("appliance", appliance.key),
                serial=serial,
                grade=grade,
                cast_run=book.id("cast_run", run),
                cast_on=cast_on,
                use_by=use_by,
                expected_on=calendar.date(promised) if promised else None,
                note=note,
            ),
        )
    bench.write_cavities(book, calendar, due)
    prefixes = {appliance.key: appliance.prefix for appliance in stores.APPLIANCES}
    for shipment in stores.SHIPMENTS:
        for number in range(shipment.first, shipment.last + 1):
            _ship(book, calendar, shipment, f"{prefixes[shipment.appliance]}-{number:02}")
    for serial, scene in stores.SET_ASIDE.items():
        kept = {
            "set_aside_for": str(book.id("scene", scene)),
            "note": f"Matches those of scene {scene} in tone.",
        }
        book.edit("copy", serial, "artist", calendar.moment(-1, "09:40"), kept)
    for serial, state, day, clock, note in stores.MISHAPS:
        patch = {"state": state, "note": note}
        book.edit("copy", serial, "artist", calendar.moment(day, clock), patch)
    bench.write_weighings(book, calendar)


def _ship(book: EntryBook, calendar: Calendar, shipment: stores.Shipment, serial: str) -> None:
    on_the_way = {
        "state": CopyState.IN_TRANSIT.value,
        "expected_on": calendar.date(shipment.arrives).isoformat(),
    }
    book.edit("copy", serial, "shop", calendar.moment(shipment.leaves, "17:30"), on_the_way)
    if shipment.arrives <= 0:
        arrived = {"state": CopyState.ON_SET.value, "expected_on": None}
        book.edit("copy", serial, "artist", calendar.moment(shipment.arrives, "05:15"), arrived)


def _write_recipes(book: EntryBook, calendar: Calendar) -> None:
    at = {1: _minutes_from(calendar, -21, "14:00"), 2: _minutes_from(calendar, -11, "09:00")}
    looks = {look.key: look for look in story.LOOKS}
    for recipe in stores.RECIPES:
        look = looks[recipe.look]
        previous = None
        if recipe.version > 1:
            previous = book.id("recipe", f"{recipe.look} {recipe.version - 1}")
        steps = [
            RecipeStep(zone=zone, paint=book.id("material", paint), mix=mix, tool=tool)
            for zone, paint, mix, tool in recipe.steps
        ]
        book.create(
            "recipe",
            f"{recipe.look} {recipe.version}",
            "artist",
            next(at[recipe.version]),
            RecipeDocument(
                name=look.name,
                look=book.id("look", recipe.look),
                version=recipe.version,
                previous=previous,
                steps=steps,
                note=recipe.note,
            ),
        )
