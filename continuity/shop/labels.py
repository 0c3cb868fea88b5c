"""Labels for copies: a sheet as it lies in the shop's printer, each with a code that a phone reads and the
words that a person reads. Sizes are in millimetres, of the page and from its edges."""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import segno
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from continuity.printing import BOLD, PLAIN, printable, register_fonts

PAGES = {"a4": A4, "letter": LETTER}
LEAST_WIDTH, LEAST_HEIGHT = 20.0, 12.0
"""The smallest label: on a smaller one a phone does not read the code any more. Chosen here."""

QUIET = 4
"""Blank modules around a code, as its standard (ISO/IEC 18004) asks for."""

LEAST_SIZE = 5.5
"""The smallest letters that are read without a glass, in points."""

INSET = 1.5


@dataclass(frozen=True)
class Sheet:
    """A page of labels: margins outside them, gaps between them. `page` is "a4" or "letter"."""

    page: str
    rows: int
    columns: int
    margin_top: float
    margin_side: float
    gap_across: float
    gap_down: float

    @property
    def label_width(self) -> float:
        across = PAGES[self.page][0] / mm - 2 * self.margin_side - (self.columns - 1) * self.gap_across
        return float(across / self.columns)

    @property
    def label_height(self) -> float:
        down = PAGES[self.page][1] / mm - 2 * self.margin_top - (self.rows - 1) * self.gap_down
        return float(down / self.rows)

    @property
    def labels(self) -> int:
        """On one page."""
        return self.rows * self.columns


class NoRoom(Exception):
    """The sheet's margins and gaps leave labels too small to be read."""


@dataclass(frozen=True)
class Label:
    """What is on one label. ``address`` is in the code."""

    address: str
    serial: str
    appliance: str
    performer: str | None
    grade: str
    cast_on: datetime.date | None
    use_by: datetime.date | None


def label_sheet(sheet: Sheet, labels: Sequence[Label], skip: int = 0) -> bytes:
    """The labels as PDF, the first in place ``skip`` + 1 of the first page, along the rows. Raises
    `NoRoom`."""
    if sheet.label_width < LEAST_WIDTH or sheet.label_height < LEAST_HEIGHT:
        raise NoRoom(
            f"The labels would be {max(sheet.label_width, 0):.0f} mm wide and "
            f"{max(sheet.label_height, 0):.0f} mm high; "
            f"{LEAST_WIDTH:g} by {LEAST_HEIGHT:g} mm is the least that a phone can read."
        )
    register_fonts()
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=PAGES[sheet.page])
    canvas.setTitle("Labels")
    page = 0
    for (on_page, left, top), label in zip(_places(sheet, skip, len(labels)), labels, strict=True):
        if on_page > page:
            canvas.showPage()
            page = on_page
        canvas.saveState()
        canvas.translate(left * mm, PAGES[sheet.page][1] - (top + sheet.label_height) * mm)
        _draw(canvas, label, sheet.label_width, sheet.label_height)
        canvas.restoreState()
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def _places(sheet: Sheet, skip: int, labels: int) -> Iterator[tuple[int, float, float]]:
    """Page, left and top of each label, in millimetres."""
    for number in range(skip, skip + labels):
        page, place = divmod(number, sheet.labels)
        row, column = divmod(place, sheet.columns)
        left = sheet.margin_side + column * (sheet.label_width + sheet.gap_across)
        top = sheet.margin_top + row * (sheet.label_height + sheet.gap_down)
        yield page, left, top


def _draw(canvas: Canvas, label: Label, width: float, height: float) -> None:
    code = segno.make(label.address, error="m", micro=False)
    side = min(height - 2 * INSET, width * 0.45)
    _draw_code(canvas, code, INSET, (height - side) / 2, side)
    left = INSET + side + 1.5
    room = width - left - INSET
    lines = [
        (BOLD, 0.25, label.serial),
        (PLAIN, 0.145, label.appliance),
        (PLAIN, 0.145, label.performer or ""),
        (PLAIN, 0.125, f"{label.grade}, cast {_day(label.cast_on)}" if label.cast_on else label.grade),
        (BOLD, 0.145, f"use by {_day(label.use_by)}" if label.use_by else ""),
    ]
    lines = [line for line in lines if line[2]]
    biggest = (height - 2 * INSET) / sum(share for _, share, _ in lines) / 1.25
    scale = min(biggest, 22.0)
    used = sum(share for _, share, _ in lines) * scale * 1.25
    top = height - (height - used) / 2
    for font, share, words in lines:
        size = share * scale
        top -= size * 1.25
        at = left * mm, (top + size * 0.35) * mm
        # A serial that is cut off is another copy's.
        _write(canvas, font, size * mm, printable(words), *at, room * mm, whole=words == label.serial)


def _draw_code(canvas: Canvas, code: segno.QRCode, left: float, bottom: float, side: float) -> None:
    """Squares, not a picture: sharp at any size. Each row's runs of dark modules are one rectangle."""
    rows = list(code.matrix)
    module = side / (len(rows) + 2 * QUIET)
    path = canvas.beginPath()
    for number, row in enumerate(rows):
        y = bottom + side - (QUIET + number + 1) * module
        start = None
        for column, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                x = left + (QUIET + start) * module
                path.rect(x * mm, y * mm, (column - start) * module * mm, module * mm)
                start = None
    canvas.drawPath(path, stroke=0, fill=1)


def _write(
    canvas: Canvas, font: str, size: float, words: str, left: float, bottom: float, room: float, whole: bool
) -> None:
    """Words on one line: set smaller where they are too long, and cut off where that could not be read.
    What is `whole` is never cut off."""
    width = pdfmetrics.stringWidth(words, font, size)
    if width > room:
        size = max(size * room / width * 0.999, 0 if whole else min(size, LEAST_SIZE))
        while len(words) > 2 and pdfmetrics.stringWidth(words, font, size) > room:
            words = words[:-2].rstrip() + "…"
    canvas.setFont(font, size)
    canvas.drawString(left, bottom, words)


def _day(date: datetime.date) -> str:
    return f"{date.day} {date:%b %Y}"
