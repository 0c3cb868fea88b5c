"""The match sheet as PDF: a page or two of A4 a look, to be read on paper from a printer without colours."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import segno
from PIL import Image, ImageDraw, ImageFont
from reportlab.lib.enums import TA_CENTER, TA_LEFT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)
from reportlab.platypus import (
    Image as Drawn,
)
from reportlab.platypus.doctemplate import LayoutError

from continuity import printing
from continuity.printing import BOLD, PLAIN, NumberedPages, printable, register_fonts

PAGES, PHOTOS, VERDICTS = 2, 6, 4
"""Most that there is of each for a look."""


@dataclass(frozen=True)
class Room:
    """How much is told of a look; the rest is in the app. Lines of a heading, steps of the recipe, letters
    of a note or line, of a verdict, of a cell of the recipe."""

    lines: int = 8
    steps: int = 20
    letters: int = 450
    verdict: int = 220
    cell: int = 120


ROOMS = (
    Room(),
    Room(5, 14, 300, 150, 80),
    Room(4, 9, 160, 100, 45),
    Room(2, 6, 70, 60, 25),
    Room(1, 4, 40, 40, 12),
)
"""The first with which a look takes no more than `PAGES` is taken."""

_MARGIN = 12 * mm
_WIDTH = A4[0] - 2 * _MARGIN - 12
_PHOTO_WIDTH, _PHOTO_HEIGHT = (_WIDTH - 4 * mm) / 3, 62 * mm
_PIXELS = 900
_TYPEFACE = Path(printing.__file__).parent / "typefaces" / "DejaVuSans.ttf"


@dataclass(frozen=True)
class SheetPhoto:
    """A photo, in any format that Pillow reads, and the words below it."""

    picture: bytes
    caption: str


@dataclass(frozen=True)
class LookSheet:
    """What the sheet says of a look. ``facts`` are headings with their lines; ``steps`` of the recipe have
    zone, mix, tool. ``address`` is what the code opens, ``standing`` whether the photos are established."""

    title: str
    below: str
    standing: str
    address: str
    photos: Sequence[SheetPhoto]
    facts: Sequence[tuple[str, Sequence[str]]]
    recipe: str = ""
    steps: Sequence[tuple[str, str, str]] = ()
    order_of_work: str = ""
    notes: Sequence[tuple[str, str]] = ()
    verdicts: Sequence[str] = field(default_factory=tuple)


def match_sheet(title: str, sheets: Sequence[LookSheet], *, viewer: str, date: str) -> bytes:
    """The PDF. Every photo carries the viewer's name and the date, in its own pixels, so that a picture taken
    out of the file carries them too."""
    register_fonts()
    story: list[Flowable] = []
    for sheet in sheets:
        pictures = [marked(photo.picture, f"{viewer} · {date}") for photo in sheet.photos[:PHOTOS]]
        if story:
            story.append(PageBreak())
        room = next((room for room in ROOMS[:-1] if _fits(_look(sheet, pictures, room))), ROOMS[-1])
        story += _look(sheet, pictures, room)
    if not story:
        story = [_text("No look is worn on this day.", _style("plain"))]
    return _built(story, printable(f"{title}: match sheet, for {viewer}, {date}"))[0]


def _fits(story: list[Flowable]) -> bool:
    try:
        return _built(story, "")[1] <= PAGES
    except LayoutError:
        return False  # One cell alone is taller than a page.


def _built(story: list[Flowable], title: str) -> tuple[bytes, int]:
    """The PDF, and how many pages it has."""
    file = io.BytesIO()
    document = SimpleDocTemplate(
        file,
        pagesize=A4,
        title=title,
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN + 4 * mm,
    )
    document.build(story, canvasmaker=_Canvas)
    return file.getvalue(), document.page


class _Canvas(NumberedPages):
    """Says above a look's second page which look it is of: pages come apart."""

    begun = ""
    """The look that the page before was of, while this one has not begun another."""

    def showPage(self) -> None:  # noqa: N802
        if self.begun and not self.begins:
            self.setFont(PLAIN, 7.5)
            self.drawString(self.edge, A4[1] - 8.5 * mm, f"{self.begun}, continued")
        self.begins = False
        super().showPage()

    begins = False


class _Begins(Flowable):  # type: ignore[misc]
    """Tells the canvas which look begins here. Nothing is to be seen of it."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title = title

    def wrap(self, *_: float) -> tuple[float, float]:
        return 0, 0

    def draw(self) -> None:
        self.canv.begun, self.canv.begins = printable(self.title)[:70], True


def marked(picture: bytes, words: str) -> bytes:
    """The picture as JPEG, `_PIXELS` at the longer edge, with the words lightly across it, light and dark, so
    that they show on either."""
    with Image.open(io.BytesIO(picture)) as opened:
        photo = opened.convert("RGB")
    photo.thumbnail((_PIXELS, _PIXELS), Image.Resampling.LANCZOS)
    shown = Image.alpha_composite(photo.convert("RGBA"), _veil(photo.size, printable(words)))
    file = io.BytesIO()
    shown.convert("RGB").save(file, "JPEG", quality=85)
    return file.getvalue()


@lru_cache(maxsize=4)
def _veil(size_of_photo: tuple[int, int], words: str) -> Image.Image:
    """What lies over every photo of that size."""
    width, height = size_of_photo
    size = max(12, round(max(width, height) / 32))
    typeface = ImageFont.truetype(_TYPEFACE, size)
    across = round(typeface.getlength(words)) + 3 * size
    side = round((width**2 + height**2) ** 0.5)
    veil = Image.new("RGBA", (side, side))
    draw = ImageDraw.Draw(veil)
    for row, y in enumerate(range(0, side, 6 * size)):
        for x in range(-(row % 2) * across // 2, side, across):
            draw.text((x + 1, y + 1), words, font=typeface, fill=(0, 0, 0, 56))
            draw.text((x, y), words, font=typeface, fill=(255, 255, 255, 72))
    veil = veil.rotate(30, Image.Resampling.BICUBIC)
    left, top = (side - width) // 2, (side - height) // 2
    return veil.crop((left, top, left + width, top + height))


def _look(sheet: LookSheet, pictures: Sequence[bytes], room: Room) -> list[Flowable]:
    story: list[Flowable] = [_Begins(sheet.title), _head(sheet, room)]
    if pictures:
        story += [Spacer(1, 3 * mm), _photos(sheet.photos, pictures)]
    facts = [
        [_text(heading, _style("heading")), [_text(line, _style("plain")) for line in _some(lines, room)]]
        for heading, lines in sheet.facts
    ]
    if facts:
        story += [Spacer(1, 3 * mm), _lines(facts)]
    if sheet.order_of_work:
        story += _titled("Order of work", [_text(_cut(sheet.order_of_work, room.letters), _style("plain"))])
    if sheet.steps:
        story += [Spacer(1, 3 * mm), _steps(sheet, room)]
    for heading, note in sheet.notes:
        story += _titled(heading, [_text(_cut(note, room.letters), _style("plain"))])
    if sheet.verdicts:
        told = [_text(_cut(each, room.verdict), _style("plain")) for each in sheet.verdicts[:VERDICTS]]
        story += _titled("Verdicts", told)
    return story


def _steps(sheet: LookSheet, room: Room) -> Flowable:
    rows = [
        [_text(name, _style("heading")) for name in names]
        for names in ((sheet.recipe or "Recipe", *[""] * 3), ("", "Zone", "Mix", "Tool"))
    ]
    for number, step in enumerate(sheet.steps[: room.steps], 1):
        cells = (str(number), *(_cut(cell, room.cell) for cell in step))
        rows.append([_text(cell, _style("plain")) for cell in cells])
    if len(sheet.steps) > room.steps:
        more = f"and {len(sheet.steps) - room.steps} more steps, in the app"
        rows.append(["", _text(more, _style("plain")), "", ""])
    table = Table(rows, colWidths=[8 * mm, 40 * mm, _WIDTH - 83 * mm, 35 * mm], repeatRows=2, style=_RULED)
    table.setStyle(TableStyle([("SPAN", (0, 0), (-1, 0)), ("LINEABOVE", (0, 0), (-1, 0), 0, "white")]))
    if len(sheet.steps) > room.steps:
        table.setStyle(TableStyle([("SPAN", (1, -1), (-1, -1))]))
    return table


def _head(sheet: LookSheet, room: Room) -> Flowable:
    words = [
        _text(sheet.title, _style("title")),
        Spacer(1, 1.5 * mm),
        _text(_cut(sheet.below, room.letters), _style("plain")),
        _text(_cut(sheet.standing, room.letters), _style("bold")),
    ]
    code = io.BytesIO()
    segno.make(sheet.address, error="m", micro=False).save(code, kind="png", scale=8, border=4)
    square = 27 * mm
    return Table(
        [[words, [Drawn(code, square, square), _text("Opens the look in the app", _style("code"))]]],
        colWidths=[_WIDTH - square, square],
        style=TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_NO_PADDING]),
    )


def _photos(photos: Sequence[SheetPhoto], pictures: Sequence[bytes]) -> Flowable:
    cells = [
        [_fitted(picture), _text(photo.caption, _style("caption"))]
        for photo, picture in zip(photos, pictures, strict=False)
    ]
    rows = [cells[at : at + 3] for at in range(0, len(cells), 3)]
    rows[-1] += [[]] * (3 - len(rows[-1]))
    return Table(
        rows,
        colWidths=[_WIDTH / 3] * 3,
        style=TableStyle(
            [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *_NO_PADDING, ("BOTTOMPADDING", (0, 0), (-1, -1), 4)]
        ),
    )


def _fitted(picture: bytes) -> Flowable:
    with Image.open(io.BytesIO(picture)) as opened:
        width, height = opened.size
    scale = min(_PHOTO_WIDTH / width, _PHOTO_HEIGHT / height)
    drawn = Drawn(io.BytesIO(picture), width * scale, height * scale)
    drawn.hAlign = "LEFT"
    return drawn


def _titled(heading: str, what: list[Flowable]) -> list[Flowable]:
    return [Spacer(1, 3 * mm), KeepTogether([_text(heading, _style("heading")), what[0]]), *what[1:]]


def _lines(rows: list[list[Any]]) -> Flowable:
    return Table(rows, colWidths=[34 * mm, _WIDTH - 34 * mm], style=_RULED)


_NO_PADDING = [
    (side, (0, 0), (-1, -1), 0) for side in ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")
]
_RULED = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEABOVE", (0, 0), (-1, -1), 0.4, "#8a8a8a"),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ]
)


def _style(name: str) -> ParagraphStyle:
    face, size = {
        "title": (BOLD, 17),
        "bold": (BOLD, 8.5),
        "heading": (BOLD, 8.5),
        "plain": (PLAIN, 8.5),
        "caption": (PLAIN, 7.5),
        "code": (PLAIN, 5.5),
    }[name]
    side = TA_CENTER if name == "code" else TA_LEFT
    return ParagraphStyle(name, fontName=face, fontSize=size, leading=size * 1.3, alignment=side)


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    lines = (escape(printable(line)) for line in words.splitlines() or [""])
    return Paragraph("<br/>".join(lines), style)


def _some(lines: Sequence[str], room: Room) -> list[str]:
    shown = [_cut(line, room.letters) for line in lines[: room.lines]]
    more = len(lines) - len(shown)
    return [*shown, *([f"and {more} more, in the app"] if more else [])] or ["–"]


def _cut(words: str, longest: int) -> str:
    """Line ends, too, take room: a note of many short lines is told in one."""
    told = words if words.count("\n") < 6 else " ".join(words.split())
    return told if len(told) <= longest else f"{told[:longest].rstrip()}… (the rest is in the app)"
