"""The match sheet as PDF: a page or two of A4 a look, to be read on paper from a printer without colours."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
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

from continuity import printing
from continuity.printing import BOLD, PLAIN, NumberedPages, printable, register_fonts

PHOTOS, FACT_LINES, STEPS, VERDICTS = 6, 8, 20, 4
LONGEST, LONGEST_VERDICT, LONGEST_CELL = 450, 220, 120
"""Most that a look's two pages hold; the last three in letters. The rest is in the app."""

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
        if story:
            story.append(PageBreak())
        story += _look(sheet, f"{viewer} · {date}")
    if not story:
        story = [_text("No look is worn on this day.", _style("plain"))]
    file = io.BytesIO()
    document = SimpleDocTemplate(
        file,
        pagesize=A4,
        title=printable(f"{title}: match sheet, for {viewer}, {date}"),
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN + 4 * mm,
    )
    document.build(story, canvasmaker=NumberedPages)
    return file.getvalue()


def marked(picture: bytes, words: str) -> bytes:
    """The picture as JPEG, `_PIXELS` at the longer edge, with the words lightly across it, light and dark, so
    that they show on either."""
    with Image.open(io.BytesIO(picture)) as opened:
        photo = opened.convert("RGB")
    photo.thumbnail((_PIXELS, _PIXELS), Image.Resampling.LANCZOS)
    size = max(12, round(max(photo.size) / 32))
    typeface = ImageFont.truetype(_TYPEFACE, size)
    across = round(typeface.getlength(words)) + 3 * size
    side = round((photo.width**2 + photo.height**2) ** 0.5)
    veil = Image.new("RGBA", (side, side))
    draw = ImageDraw.Draw(veil)
    for row, y in enumerate(range(0, side, 6 * size)):
        for x in range(-(row % 2) * across // 2, side, across):
            draw.text((x + 1, y + 1), words, font=typeface, fill=(0, 0, 0, 56))
            draw.text((x, y), words, font=typeface, fill=(255, 255, 255, 72))
    veil = veil.rotate(30, Image.Resampling.BICUBIC)
    left, top = (side - photo.width) // 2, (side - photo.height) // 2
    shown = Image.alpha_composite(
        photo.convert("RGBA"), veil.crop((left, top, left + photo.width, top + photo.height))
    )
    file = io.BytesIO()
    shown.convert("RGB").save(file, "JPEG", quality=85)
    return file.getvalue()


def _look(sheet: LookSheet, words: str) -> list[Flowable]:
    story: list[Flowable] = [_head(sheet)]
    if sheet.photos:
        story += [Spacer(1, 3 * mm), _photos(sheet.photos[:PHOTOS], words)]
    facts = [
        [_text(heading, _style("heading")), [_text(line, _style("plain")) for line in _some(lines)]]
        for heading, lines in sheet.facts
    ]
    if facts:
        story += [Spacer(1, 3 * mm), _lines(facts)]
    if sheet.order_of_work:
        story += _titled("Order of work", [_text(_cut(sheet.order_of_work), _style("plain"))])
    if sheet.steps:
        story += [Spacer(1, 3 * mm), _steps(sheet)]
    for heading, note in sheet.notes:
        story += _titled(heading, [_text(_cut(note), _style("plain"))])
    if sheet.verdicts:
        story += _titled(
            "Verdicts",
            [_text(_cut(verdict, LONGEST_VERDICT), _style("plain")) for verdict in sheet.verdicts[:VERDICTS]],
        )
    return story


def _steps(sheet: LookSheet) -> Flowable:
    rows = [
        [_text(name, _style("heading")) for name in names]
        for names in ((sheet.recipe or "Recipe", *[""] * 3), ("", "Zone", "Mix", "Tool"))
    ]
    for number, step in enumerate(sheet.steps[:STEPS], 1):
        cells = (str(number), *(_cut(cell, LONGEST_CELL) for cell in step))
        rows.append([_text(cell, _style("plain")) for cell in cells])
    if len(sheet.steps) > STEPS:
        more = f"and {len(sheet.steps) - STEPS} more steps, in the app"
        rows.append(["", _text(more, _style("plain")), "", ""])
    table = Table(rows, colWidths=[8 * mm, 40 * mm, _WIDTH - 83 * mm, 35 * mm], repeatRows=2, style=_RULED)
    table.setStyle(TableStyle([("SPAN", (0, 0), (-1, 0)), ("LINEABOVE", (0, 0), (-1, 0), 0, "white")]))
    if len(sheet.steps) > STEPS:
        table.setStyle(TableStyle([("SPAN", (1, -1), (-1, -1))]))
    return table


def _head(sheet: LookSheet) -> Flowable:
    words = [
        _text(sheet.title, _style("title")),
        Spacer(1, 1.5 * mm),
        _text(sheet.below, _style("plain")),
        _text(sheet.standing, _style("bold")),
    ]
    code = io.BytesIO()
    segno.make(sheet.address, error="m", micro=False).save(code, kind="png", scale=8, border=4)
    square = 27 * mm
    return Table(
        [[words, [Drawn(code, square, square), _text("Opens the look in the app", _style("code"))]]],
        colWidths=[_WIDTH - square, square],
        style=TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_NO_PADDING]),
    )


def _photos(photos: Sequence[SheetPhoto], words: str) -> Flowable:
    cells = [[_fitted(photo, words), _text(photo.caption, _style("caption"))] for photo in photos]
    rows = [cells[at : at + 3] for at in range(0, len(cells), 3)]
    rows[-1] += [[]] * (3 - len(rows[-1]))
    return Table(
        rows,
        colWidths=[_WIDTH / 3] * 3,
        style=TableStyle(
            [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *_NO_PADDING, ("BOTTOMPADDING", (0, 0), (-1, -1), 4)]
        ),
    )


def _fitted(photo: SheetPhoto, words: str) -> Flowable:
    content = marked(photo.picture, words)
    with Image.open(io.BytesIO(content)) as opened:
        width, height = opened.size
    scale = min(_PHOTO_WIDTH / width, _PHOTO_HEIGHT / height)
    drawn = Drawn(io.BytesIO(content), width * scale, height * scale)
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


def _some(lines: Sequence[str]) -> list[str]:
    shown = [_cut(line) for line in lines[:FACT_LINES]]
    more = len(lines) - len(shown)
    return [*shown, *([f"and {more} more, in the app"] if more else [])] or ["–"]


def _cut(words: str, longest: int = LONGEST) -> str:
    """Line ends, too, take room: a note of many short lines is told in one."""
    told = words if words.count("\n") < 6 else " ".join(words.split())
    return told if len(told) <= longest else f"{told[:longest].rstrip()}… (the rest is in the app)"
