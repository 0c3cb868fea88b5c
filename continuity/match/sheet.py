"""The match sheet of a look or of a shoot day: what is known of each look, for somebody of the crew."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from continuity.applications.documents import ApplicationDocument, RecipeDocument
from continuity.applications.models import Application
from continuity.cover.order_words import day_in_words
from continuity.durations import minutes_in_words
from continuity.match.documents import VerdictDocument, VerdictWord
from continuity.match.models import Verdict
from continuity.match.sheet_page import LookSheet, SheetPhoto, match_sheet
from continuity.people.documents import CrewDocument, PerformerDocument
from continuity.people.models import Membership
from continuity.photos.documents import Angle, Photo, PhotoMoment
from continuity.photos.keeping import taking_from_storage
from continuity.photos.models import Photo as PhotoRow
from continuity.photos.selectors import open_rendition
from continuity.printing import printable
from continuity.schedule.documents import CharacterDocument, LookDocument, SceneDocument, ShootDayDocument
from continuity.schedule.models import Look, Scene, ShootDay
from continuity.stock.documents import ApplianceDocument, CopyDocument, MaterialDocument
from continuity.sync.document import Document
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.selectors import document_of

Found = TypeVar("Found", bound=Document)

MOMENTS = (PhotoMoment.APPLIED, PhotoMoment.ON_SET, PhotoMoment.BEFORE, PhotoMoment.AFTER)
"""Of two photos of one angle the earlier in this list is shown. A photo of the skin after removal is shown to
nobody here, whatever they may see in the app: paper is handed on."""

USUAL_ANGLES = (
    Angle.FRONT,
    Angle.THREE_QUARTER_LEFT,
    Angle.THREE_QUARTER_RIGHT,
    Angle.CLOSE_UP,
)
ANGLE_WORDS = {
    Angle.FRONT: "Front",
    Angle.THREE_QUARTER_LEFT: "Three-quarter left",
    Angle.THREE_QUARTER_RIGHT: "Three-quarter right",
    Angle.PROFILE_LEFT: "Profile left",
    Angle.PROFILE_RIGHT: "Profile right",
    Angle.CLOSE_UP: "Close-up",
}
VERDICT_WORDS = {VerdictWord.MATCHES: "Matches", VerdictWord.DOES_NOT_MATCH: "Does not match"}


def sheet_of_look(*, viewer: Membership, look: UUID, origin: str) -> bytes:
    """The PDF of one look. ``origin`` is where the app is, such as "https://set.example". Raises `Refusal`
    (not_found)."""
    row = Look.objects.filter(id=look, production_id=viewer.production_id, withdrawn=False).first()
    if row is None:
        raise Refusal(Code.not_found, "There is no such look.")
    return _sheet(viewer, row.name, [(look, "")], origin)


def sheet_of_day(*, viewer: Membership, shoot_day: UUID, origin: str) -> bytes:
    """The PDF of all looks of a shoot day, in the order of its scenes. One of which there is nothing to say
    is left out, unless there are no others. Raises `Refusal` (not_found)."""
    row = ShootDay.objects.filter(id=shoot_day, production_id=viewer.production_id, withdrawn=False).first()
    if row is None:
        raise Refusal(Code.not_found, "There is no such shoot day.")
    day = _document(ShootDayDocument, shoot_day)
    scenes: dict[UUID, list[str]] = {}
    for planned in day.scenes:
        scene = _document(SceneDocument, planned.scene)
        for worn in scene.worn:
            if worn.look and scene.number not in scenes.setdefault(worn.look, []):
                scenes[worn.look].append(scene.number)
    found = set(Look.objects.filter(id__in=scenes, withdrawn=False).values_list("id", flat=True))
    looks = [
        (look, f"{'Scene' if len(numbers) == 1 else 'Scenes'} {', '.join(numbers)}")
        for look, numbers in scenes.items()
        if look in found
    ]
    looks = [(look, words) for look, words in looks if _can_be_told(look)] or looks
    return _sheet(viewer, day_in_words(day.date), looks, origin)


def _can_be_told(look_id: UUID) -> bool:
    look = _document(LookDocument, look_id)
    put_on = Application.objects.filter(look_id=look_id, withdrawn=False).exists()
    return put_on or bool(look.appliances or look.note or look.order_of_work)


def _sheet(viewer: Membership, title: str, looks: list[tuple[UUID, str]], origin: str) -> bytes:
    production = viewer.production
    today = timezone.now().astimezone(ZoneInfo(production.time_zone)).date()
    return match_sheet(
        f"{production.name}, {title}",
        [_look_sheet(viewer, look, worn_in, origin) for look, worn_in in looks],
        viewer=_name_of(viewer),
        date=day_in_words(today),
    )


def _name_of(viewer: Membership) -> str:
    """As it can be printed: where the typeface has not the letters of a name, the account's name says who."""
    name = _document(CrewDocument, viewer.id).name
    return name if "?" not in printable(name) else f"{name} ({viewer.user.get_username()})"


def _look_sheet(viewer: Membership, look_id: UUID, worn_in: str, origin: str) -> LookSheet:
    look = _document(LookDocument, look_id)
    character = _document(CharacterDocument, look.character)
    application, standing = _application(look_id, look)
    sheet = _document(ApplicationDocument, application.id) if application else None
    performer = character.performer or (sheet.performer if sheet else None)
    double = sheet.performer if sheet and sheet.performer != performer else None
    below = [
        _document(PerformerDocument, performer).name if performer else "No performer yet",
        worn_in,
        f"this one on {_document(PerformerDocument, double).name}" if double else "",
        f"{minutes_in_words(look.chair_minutes)} in the chair" if look.chair_minutes else "",
    ]
    recipe_id = sheet.recipe if sheet else None
    recipe = _document(RecipeDocument, recipe_id) if recipe_id else None
    notes = [("Look", look.note), ("This application", sheet.note if sheet else None)]
    if sheet:
        notes.append(("Unlike the recipe", sheet.recipe_differences))
    return LookSheet(
        title=f"{character.name}: {look.name}",
        below=" · ".join(part for part in below if part),
        standing=standing,
        address=f"{origin}/#/match/{look_id}",
        photos=_photos(viewer, look, sheet) if sheet else [],
        facts=_facts(look, sheet),
        recipe=f"Recipe: {recipe.name}, version {recipe.version}" if recipe else "",
        steps=[(step.zone, _mix(step.mix, step.paint), step.tool or "") for step in recipe.steps]
        if recipe
        else [],
        order_of_work=look.order_of_work or "",
        notes=[(heading, note) for heading, note in notes if note],
        verdicts=_verdicts(look_id),
    )


def _application(look_id: UUID, look: LookDocument) -> tuple[Application | None, str]:
    """The application to be matched: the established one, or else the last, and what to say of it."""
    of_look = Application.objects.filter(look_id=look_id, withdrawn=False)
    if look.established:
        established = of_look.filter(id=look.established).first()
        if established:
            words = f"Established on {day_in_words(established.date)}"
            if look.established_reason:
                words += f". {look.established_reason}"
            return established, words
    last = of_look.order_by("-date", "-first_seq").first()
    if last is None:
        return None, "Not applied yet"
    return last, f"Nothing is established. This is the last application, of {day_in_words(last.date)}"


def _photos(viewer: Membership, look: LookDocument, sheet: ApplicationDocument) -> list[SheetPhoto]:
    """One of each angle, those that are wanted first: the best of which there is something to show."""
    bare = _of_bare_skin(viewer.production_id, sheet)
    photos = [p for p in sheet.photos.values() if p.moment in MOMENTS and p.sha256 not in bare]
    photos.sort(key=lambda photo: photo.taken_at, reverse=True)
    photos.sort(key=lambda photo: MOMENTS.index(photo.moment))
    found = []
    for angle in dict.fromkeys((*(look.wanted_angles or USUAL_ANGLES), *Angle)):
        for photo in photos:
            picture = _picture(viewer, photo) if photo.angle == angle else None
            if picture:
                found.append(SheetPhoto(picture, _caption(viewer, photo)))
                break
    return found


def _of_bare_skin(production_id: UUID, sheet: ApplicationDocument) -> set[str]:
    """Which of a sheet's files any sheet says are of the skin after removal."""
    removed = PhotoRow.objects.filter(
        file__production_id=production_id,
        file__sha256__in=[photo.sha256 for photo in sheet.photos.values()],
        moment=PhotoMoment.REMOVED,
    )
    return set(removed.values_list("file__sha256", flat=True))


def _picture(viewer: Membership, photo: Photo) -> bytes | None:
    """None when it has not come, or cannot be shown. A storage that is away makes no sheet without photos."""
    try:
        file, _ = open_rendition(viewer=viewer, sha256=photo.sha256, rendition="large")
    except Refusal as refusal:
        if refusal.code == Code.server_busy:
            raise
        return None
    with file, taking_from_storage():
        content: bytes = file.read()
        return content


def _caption(viewer: Membership, photo: Photo) -> str:
    taken = photo.taken_at.astimezone(ZoneInfo(viewer.production.time_zone))
    scene = Scene.objects.filter(id=photo.scene).first() if photo.scene else None
    when = f"{day_in_words(taken.date())}, {taken:%H:%M}"
    return f"{ANGLE_WORDS[photo.angle]}{f' · scene {scene.number}' if scene else ''}\n{when}"


def _facts(look: LookDocument, sheet: ApplicationDocument | None) -> list[tuple[str, list[str]]]:
    if sheet is None:
        return [("Appliances", [_document(ApplianceDocument, each).name for each in look.appliances])]
    return [
        (
            "Copies",
            [_copy(use.copy_used, use.outcome.value, use.why) for use in sheet.copies.values()],
        ),
        (
            "Adhesive",
            [f"{use.zone}: {_material(use.material)}" for use in sheet.adhesives.values()],
        ),
        ("Edge solvent", _materials(sheet.edge_solvent)),
        ("Sealer", _materials(sheet.sealer)),
        ("Remover", _materials(sheet.remover)),
    ]


def _copy(copy_id: UUID, outcome: str, why: str | None) -> str:
    copy = _document(CopyDocument, copy_id)
    words = f"{copy.serial}, {_document(ApplianceDocument, copy.appliance).name}, {copy.grade.value}"
    return words if outcome == "good" else f"{words} ({outcome}{f': {why}' if why else ''})"


def _materials(material_id: UUID | None) -> list[str]:
    return [_material(material_id)] if material_id else []


def _material(material_id: UUID) -> str:
    material = _document(MaterialDocument, material_id)
    return f"{material.name}, lot {material.lot}" if material.lot else material.name


def _mix(mix: str, paint: UUID | None) -> str:
    return f"{_material(paint)}: {mix}" if paint else mix


def _verdicts(look_id: UUID) -> list[str]:
    """What was said of the look's applications, the newest first; of each application what counts."""
    rows = {
        row.id: row
        for row in Verdict.objects.filter(
            application__look_id=look_id, application__withdrawn=False, withdrawn=False
        ).select_related("application")
    }
    records = Record.objects.filter(id__in=rows).select_related("revision").order_by("-revision__happened_at")
    found, spoken_of = [], set()
    for record in records:
        application = rows[record.id].application
        if application.id in spoken_of:
            continue
        spoken_of.add(application.id)
        verdict = document_of(record, VerdictDocument)
        words = [f"{day_in_words(application.date)}: {VERDICT_WORDS[verdict.verdict]}", verdict.note or ""]
        words += [pin.words for pin in verdict.pins.values()]
        found.append(". ".join(_without_stops(words)))
    return found


def _without_stops(words: Iterable[str]) -> list[str]:
    return [each.strip().rstrip(".") for each in words if each.strip()]


def _document(kind: type[Found], record_id: UUID) -> Found:
    return document_of(Record.objects.get(id=record_id), kind)
