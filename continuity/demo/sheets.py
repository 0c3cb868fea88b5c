"""The demo's applications as entries: written in the chair, on set and after removal, with their photos."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from continuity.applications.documents import (
    AdhesiveUse,
    ApplicationDocument,
    Break,
    CopyUse,
    Outcome,
    TouchUp,
)
from continuity.applications.sheet_warnings import SheetFacts, sheet_warnings
from continuity.demo import history, story
from continuity.demo.dates import Calendar
from continuity.demo.drawing import draw_photo
from continuity.demo.entries import EntryBook, Json, mint
from continuity.people.documents import PerformerDocument
from continuity.photos.documents import MediaType, Photo, PhotoMoment
from continuity.stock.documents import ApplianceDocument, CopyDocument, MaterialDocument
from continuity.sync.document import Document
from continuity.sync.merge import apply_merge_patch

CHAIR = (PhotoMoment.BEFORE, PhotoMoment.APPLIED)
ON_SET = (PhotoMoment.ON_SET, PhotoMoment.AFTER)
OFF = (PhotoMoment.REMOVED,)


class UnansweredWarning(Exception):
    """A sheet of the table raises a warning, and the table does not say why it was gone past."""


@dataclass
class _Sheet:
    """One application on its way into the book. ``name`` tells it from the others."""

    row: history.Application
    name: str
    book: EntryBook
    calendar: Calendar
    pictures: dict[str, bytes]

    def at(self, clock: str) -> datetime.datetime:
        return self.calendar.moment(self.row.day, clock)

    def item(self, clock: str, what: str) -> str:
        return str(mint(self.at(clock), f"{self.name} {what}"))

    def material(self, key: str | None) -> UUID | None:
        return self.book.id("material", key) if key else None


def write_applications(book: EntryBook, calendar: Calendar) -> dict[str, bytes]:
    """Write every application into the book. Returns the photos' files by sha256.

    Raises `UnansweredWarning` for a sheet that warns of something the table does not answer.
    """
    pictures: dict[str, bytes] = {}
    # A copy that spoils is written down with its sheet, so the sheets come in the order of the days.
    for number, row in enumerate(history.APPLICATIONS, start=1):
        _write_sheet(_Sheet(row, f"application {number}", book, calendar, pictures))
    return pictures


def _write_sheet(sheet: _Sheet) -> None:
    row, book = sheet.row, sheet.book
    ready = sheet.at(row.ready) + datetime.timedelta(minutes=5)
    document = _in_the_chair(sheet)
    document |= _answers(sheet, document, ready)
    book.create(
        "application",
        sheet.name,
        row.artist,
        ready,
        ApplicationDocument.model_validate(document, strict=False),
    )
    on_set = _on_set(sheet)
    if on_set:
        book.edit("application", sheet.name, row.artist, _last_moment(on_set, ready), on_set)
    if row.removed:
        removed = sheet.at(row.removed) + datetime.timedelta(minutes=15)
        off = _taken_off(sheet)
        whole = apply_merge_patch(book.documents["application", sheet.name], off)
        off |= _answers(sheet, whole, removed)
        book.edit("application", sheet.name, row.artist, removed, off)


def _in_the_chair(sheet: _Sheet) -> Json:
    row, book = sheet.row, sheet.book
    copies = {
        UUID(sheet.item(row.started, serial)): CopyUse(
            copy_used=book.id("copy", serial), outcome=Outcome.SPOILED, why=why
        )
        for serial, why in row.spoiled
    }
    for serial, why in row.lost:
        item = UUID(sheet.item(row.started, serial))
        copies[item] = CopyUse(copy_used=book.id("copy", serial), outcome=Outcome.LOST, why=why)
    for serial in row.good:
        item = UUID(sheet.item(row.started, serial))
        copies[item] = CopyUse(copy_used=book.id("copy", serial), outcome=Outcome.GOOD)
    adhesives = {
        UUID(sheet.item(row.started, zone)): AdhesiveUse(zone=zone, material=book.id("material", material))
        for zone, material in row.adhesives
    }
    return ApplicationDocument(
        performer=book.id("performer", row.performer),
        look=book.id("look", row.look),
        date=sheet.calendar.date(row.day),
        artist=book.crew[row.artist].id,
        scenes=[book.id("scene", scene) for scene in row.scenes],
        copies=copies,
        adhesives=adhesives,
        edge_solvent=sheet.material(row.edge_solvent),
        recipe=book.id("recipe", f"{row.look} {row.recipe_version}"),
        recipe_differences=row.differences,
        sealer=sheet.material(row.sealer),
        started_at=sheet.at(row.started),
        ready_at=sheet.at(row.ready),
        photos={UUID(item): photo for item, photo in _photos(sheet, CHAIR).items()},
        note=row.note,
    ).to_json()


def _on_set(sheet: _Sheet) -> Json:
    row = sheet.row
    patch: Json = {}
    if row.on_camera:
        patch["on_camera_at"] = sheet.at(row.on_camera).isoformat()
    if row.touch_ups:
        patch["touch_ups"] = {
            sheet.item(clock, reason): _json(TouchUp(at=sheet.at(clock), reason=reason))
            for clock, reason in row.touch_ups
        }
    if row.breaks:
        patch["breaks"] = {
            sheet.item(start, "break"): _json(Break(started_at=sheet.at(start), ended_at=sheet.at(end)))
            for start, end in row.breaks
        }
    photos = _photos(sheet, ON_SET)
    if photos:
        patch["photos"] = {item: _json(photo) for item, photo in photos.items()}
    return patch


def _taken_off(sheet: _Sheet) -> Json:
    row = sheet.row
    patch: Json = {"removed_at": sheet.at(row.removed or "").isoformat()}
    if row.remover:
        patch["remover"] = str(sheet.material(row.remover))
    if row.copy_after:
        patch["copy_after"] = row.copy_after
    if row.skin_after:
        patch["skin_after"] = row.skin_after
    photos = _photos(sheet, OFF)
    if photos:
        patch["photos"] = {item: _json(photo) for item, photo in photos.items()}
    return patch


def _photos(sheet: _Sheet, moments: tuple[PhotoMoment, ...]) -> dict[str, Photo]:
    row, book = sheet.row, sheet.book
    looks = {look.key: look for look in story.LOOKS}
    scenes = {scene.number: scene for scene in story.SCENES}
    scene = scenes[row.scenes[0]] if row.scenes else None
    found = {}
    for number, (moment, angle, clock) in enumerate(row.photos):
        if moment not in moments:
            continue
        first = number == 0
        slate = f"SCENE {scene.number}   DAY {scene.story_day}" if scene else "CAMERA TEST"
        picture = draw_photo(
            performer=row.performer,
            wound=looks[row.look].wound,
            stage=looks[row.look].stage,
            angle=angle,
            moment=moment,
            slate=slate if first else None,
            seed=f"{sheet.name} {number}",
        )
        sha256 = hashlib.sha256(picture).hexdigest()
        sheet.pictures[sha256] = picture
        found[sheet.item(clock, f"photo {number}")] = Photo(
            sha256=sha256,
            size=len(picture),
            media_type=MediaType.JPEG,
            angle=angle,
            moment=moment,
            scene=book.id("scene", scene.number) if scene else None,
            story_day=scene.story_day if scene else None,
            taken_at=sheet.at(clock),
            card_in_frame=first,
        )
    return found


def _answers(sheet: _Sheet, document: Json, at: datetime.datetime) -> Json:
    """What the artist says to the warnings the sheet raises now and has not been answered before."""
    reasons = dict(sheet.row.answers)
    answered = {**document.get("overridden", {}), **document.get("health_overridden", {})}
    patch: Json = {}
    for warning in sheet_warnings(_facts(sheet, document, at)):
        if warning.key in answered:
            continue
        if warning.code not in reasons:
            raise UnansweredWarning(f"{sheet.name}, day {sheet.row.day}: {warning.words}")
        member = "health_overridden" if warning.about_health else "overridden"
        patch.setdefault(member, {})[warning.key] = {
            "words": warning.words,
            "at": at.isoformat(),
            "why": reasons[warning.code],
        }
    return patch


def _facts(sheet: _Sheet, document: Json, at: datetime.datetime) -> SheetFacts:
    """The facts as the artist's phone had them in the chair."""
    documents = {sheet.book.ids[place]: stored for place, stored in sheet.book.documents.items()}

    def read(kind: type[Document], record: UUID) -> Any:
        return kind.model_validate(documents[record], strict=False)

    application = ApplicationDocument.model_validate(document, strict=False)
    copies = {use.copy_used: read(CopyDocument, use.copy_used) for use in application.copies.values()}
    materials = {
        sheet.book.ids[kind, key]: MaterialDocument.model_validate(stored, strict=False)
        for (kind, key), stored in sheet.book.documents.items()
        if kind == "material"
    }
    performers = {
        sheet.book.ids[kind, key]: PerformerDocument.model_validate(stored, strict=False)
        for (kind, key), stored in sheet.book.documents.items()
        if kind == "performer"
    }
    performer = performers[application.performer]
    if any(code == "adhesive_no_patch_test" for code, _ in sheet.row.answers):
        late = sheet.book.id("material", story.LATE_PATCH_TEST[3].material)
        tests = {key: test for key, test in performer.patch_tests.items() if test.material != late}
        performer = performer.model_copy(update={"patch_tests": tests})
    return SheetFacts(
        sheet=application,
        performer=performer,
        copies=copies,
        appliances={copy.appliance: read(ApplianceDocument, copy.appliance) for copy in copies.values()},
        materials=materials,
        performer_names={record: performer.name for record, performer in performers.items()},
        used_elsewhere=frozenset(),
        at=at,
    )


def _last_moment(patch: Json, ready: datetime.datetime) -> datetime.datetime:
    """When the last thing in the patch happened, which is when it was written down."""
    told = [patch.get("on_camera_at")]
    told += [touch_up["at"] for touch_up in patch.get("touch_ups", {}).values()]
    told += [a_break["ended_at"] for a_break in patch.get("breaks", {}).values()]
    told += [photo["taken_at"] for photo in patch.get("photos", {}).values()]
    return max([ready, *(datetime.datetime.fromisoformat(moment) for moment in told if moment)])


def _json(part: Document | AdhesiveUse | TouchUp | Break | Photo) -> Json:
    return part.model_dump(mode="json", exclude_none=True)
