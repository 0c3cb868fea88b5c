"""What the demo's continuity says of its make-ups: what is established, what matches, and one measurement."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from continuity.demo import history, story
from continuity.demo.dates import Calendar
from continuity.demo.drawing import EYE, GREY, HEIGHT, WIDTH, place_in_photo
from continuity.demo.entries import EntryBook, Json, mint
from continuity.demo.wounds import WOUND_CENTRES
from continuity.match.documents import (
    Card,
    CardSort,
    ColourMeasurementDocument,
    MeasuredPhoto,
    Patch,
    PatchRole,
    PhotoGuideDocument,
    Pin,
    Point,
    Spot,
    VerdictDocument,
    VerdictWord,
)
from continuity.photos.documents import Angle, PhotoMoment

ESTABLISHED = "Established."
"""The note of an application that its look is held to."""

WANTED_ANGLES = {
    "maren_day_1": (Angle.FRONT, Angle.THREE_QUARTER_LEFT, Angle.CLOSE_UP),
    "maren_day_3": (Angle.FRONT, Angle.THREE_QUARTER_LEFT, Angle.PROFILE_LEFT, Angle.CLOSE_UP),
    "josk_day_3": (Angle.THREE_QUARTER_RIGHT, Angle.CLOSE_UP),
}
ORDER_OF_WORK = {
    "maren_day_3": "Brow first, edges dissolved from the nose outwards. Old blood, then the bruise, violet "
    "before yellow. Powder only where the lamp finds the edge.",
    "josk_day_3": "Cheek laid on from the ear. Paste along the smile line. Red first, brown rim last.",
}


@dataclass(frozen=True)
class Verdict:
    """``of`` and ``against`` are (day, performer) of the look; ``pin`` is words on the wound in the first
    photo."""

    look: str
    of: tuple[int, str]
    against: tuple[int, str]
    word: VerdictWord
    note: str
    pin: str | None = None


VERDICTS = (
    Verdict(
        "maren_day_1", (-5, "tamsin"), (-6, "tamsin"), VerdictWord.MATCHES,
        "A shade lighter in the violet; the lamp evens it out.",
    ),
    Verdict(
        "maren_day_3", (-2, "tamsin"), (-3, "tamsin"), VerdictWord.DOES_NOT_MATCH,
        "In daylight the pale line shows. Stay out of the close-up, or touch it up first.",
        "Pale line along this edge",
    ),
)  # fmt: skip
MEASURED = (("maren_day_3", (-3, "tamsin"), (-2, "tamsin")),)
"""A look, and the day and performer of then and of now."""


def write_match(book: EntryBook, calendar: Calendar) -> None:
    """Write it all into the book, each on the evening of the day it speaks of."""
    for number, row in enumerate(history.APPLICATIONS, start=1):
        if row.note == ESTABLISHED:
            patch: Json = {"established": str(book.id("application", f"application {number}"))}
            if row.look in WANTED_ANGLES:
                patch["wanted_angles"] = [angle.value for angle in WANTED_ANGLES[row.look]]
            if row.look in ORDER_OF_WORK:
                patch["order_of_work"] = ORDER_OF_WORK[row.look]
            book.edit("look", row.look, "continuity", calendar.moment(row.day, "21:00"), patch)
    for verdict in VERDICTS:
        _write_verdict(book, calendar, verdict)
    for look, then, now in MEASURED:
        _write_guide(book, calendar, look, then)
        _write_measurement(book, calendar, look, then, now)


def _write_verdict(book: EntryBook, calendar: Calendar, verdict: Verdict) -> None:
    at = calendar.moment(verdict.of[0], "21:30")
    number, row = _application(verdict.look, verdict.of)
    pins = {}
    if verdict.pin:
        x, y = _place(verdict.look, verdict.of, (0.0, 0.0))
        pin = Pin(sha256=_first_photo(book, number), x=x, y=y, words=verdict.pin)
        pins[mint(at, f"pin of {row.look}")] = pin
    document = VerdictDocument(
        application=_id(book, number),
        verdict=verdict.word,
        against=_id(book, _application(verdict.look, verdict.against)[0]),
        note=verdict.note,
        pins=pins,
    )
    book.create("verdict", f"{verdict.look} {verdict.of[0]}", "continuity", at, document)


def _write_guide(book: EntryBook, calendar: Calendar, look: str, then: tuple[int, str]) -> None:
    outline = [
        _point(_place(look, then, beside))
        for beside in ((-12.0, -0.1), (12.0, -0.1), (16.0, 0.0), (12.0, 0.1), (-12.0, 0.1))
    ]
    wound = next(one.wound for one in story.LOOKS if one.key == look) or ""
    longitude, height = WOUND_CENTRES[wound]
    eyes = [_point(_place(look, then, (side * EYE[0] - longitude, EYE[1] - height))) for side in (-1, 1)]
    sha256 = _first_photo(book, _application(look, then)[0])
    guide = PhotoGuideDocument(sha256=sha256, eyes=eyes, outline=outline)
    book.create("photo_guide", look, "continuity", calendar.moment(then[0], "21:10"), guide)


def _write_measurement(
    book: EntryBook, calendar: Calendar, look: str, then: tuple[int, str], now: tuple[int, str]
) -> None:
    at = calendar.moment(now[0], "21:40")
    patches = {
        mint(at, f"patch {name}"): Patch(
            role=role, name=name, then=_spot(_place(look, then, beside)), now=_spot(_place(look, now, beside))
        )
        for role, name, beside in (
            (PatchRole.PIECE, "Brow", (0.0, 0.0)),
            (PatchRole.SKIN, "Cheek below it", (4.0, 0.42)),
        )
    }
    document = ColourMeasurementDocument(
        look=book.id("look", look),
        then=_measured(book, look, then),
        now=_measured(book, look, now),
        patches=patches,
    )
    book.create("colour_measurement", look, "continuity", at, document)


def _measured(book: EntryBook, look: str, which: tuple[int, str]) -> MeasuredPhoto:
    left, top, right, bottom = GREY
    middle = ((left + right) / 2 / WIDTH, (top + bottom) / 2 / HEIGHT)
    number, _ = _application(look, which)
    return MeasuredPhoto(
        application=_id(book, number),
        sha256=_first_photo(book, number),
        card=Card(sort=CardSort.GREY, spot=_spot(middle, 50)),
    )


def _application(look: str, which: tuple[int, str]) -> tuple[int, history.Application]:
    """The number and the row of the first application of a look on a day. Raises `LookupError`."""
    for number, row in enumerate(history.APPLICATIONS, start=1):
        if row.look == look and (row.day, row.performer) == which:
            return number, row
    raise LookupError(f"Nobody wore {look} on day {which[0]}.")


def _id(book: EntryBook, number: int) -> UUID:
    return book.id("application", f"application {number}")


def _first_photo(book: EntryBook, number: int) -> str:
    """The sha256 of the photo with the card in it, which shows the make-up."""
    photos: Json = book.documents["application", f"application {number}"]["photos"]
    return next(
        str(photo["sha256"])
        for photo in photos.values()
        if photo.get("card_in_frame") and photo["moment"] == PhotoMoment.APPLIED
    )


def _place(look: str, which: tuple[int, str], beside: tuple[float, float]) -> tuple[float, float]:
    """A place at the wound, or beside it, in that photo."""
    number, row = _application(look, which)
    wound = next(one.wound for one in story.LOOKS if one.key == look) or ""
    return place_in_photo(
        performer=row.performer,
        wound=wound,
        angle=row.photos[0][1],
        seed=f"application {number} 0",
        beside=beside,
    )


def _point(place: tuple[float, float]) -> Point:
    return Point(x=round(place[0], 4), y=round(place[1], 4))


def _spot(place: tuple[float, float], pixels: int = 22) -> Spot:
    return Spot(x=round(place[0], 4), y=round(place[1], 4), radius=pixels / HEIGHT)
