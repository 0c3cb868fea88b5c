"""A table on A4 pages, landscape, as PDF: it has to be read on paper, from a printer without colours."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from continuity.printing import BOLD, PLAIN, printable, register_fonts

HEADINGS = (
    "Appliance",
    "Spares now",
    "Coming",
    "First day at risk",
    "How sure",
    "Order",
    "Latest start",
)
_WIDTHS = tuple(width * mm for width in (70, 18, 18, 36, 30, 48, 53))


@dataclass(frozen=True)
class Row:
    """One line; `cells` go with `HEADINGS`. One that is `at_risk` is bold and has a mark before its name."""

    at_risk: bool
    cells: tuple[str, str, str, str, str, str, str]


def report_page(title: str, below: str, rows: Sequence[Row]) -> bytes:
    """The page as PDF: a title, one line below it, and the table, its headings again on every page."""
    register_fonts()
    styles = {
        name: ParagraphStyle(name, fontName=face, fontSize=size, leading=size * 1.25)
        for name, face, size in (
            ("title", BOLD, 15),
            ("below", PLAIN, 8.5),
            ("plain", PLAIN, 8.5),
            ("bold", BOLD, 8.5),
        )
    }
    table: list[list[Any]] = [[_text(heading, styles["bold"]) for heading in HEADINGS]]
    for row in rows:
        name, *others = row.cells
        style = styles["bold" if row.at_risk else "plain"]
        marked = f"! {name}" if row.at_risk else name
        table.append([_text(cell, style) for cell in (marked, *others)])
    look = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 1.2, "black"),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, "black"),
        ("TOPPADDING", (0, 0), (-1, -1), 3),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ]
    notes = "A line with ! is under what is wanted. How sure: the chance that no day planned is short."
    if not rows:
        notes = "There is no appliance yet."
    story = [
        _text(title, styles["title"]),
        Spacer(1, 2 * mm),
        _text(below, styles["below"]),
        Spacer(1, 4 * mm),
        Table(table, colWidths=_WIDTHS, repeatRows=1, style=TableStyle(look)),
        Spacer(1, 3 * mm),
        _text(notes, styles["below"]),
    ]
    file = io.BytesIO()
    margin = 12 * mm
    document = SimpleDocTemplate(
        file,
        pagesize=landscape(A4),
        title=printable(f"{title}: cover"),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
    )
    document.build(story, canvasmaker=_Numbered)
    return file.getvalue()


class _Numbered(Canvas):  # type: ignore[misc]
    """Writes "page 1 of 3" on every page, which is known only when all are there."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._pages: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, page in enumerate(self._pages, 1):
            self.__dict__.update(page)
            self.setFont(PLAIN, 7.5)
            right = landscape(A4)[0] - 12 * mm
            self.drawRightString(right, 6 * mm, f"page {number} of {len(self._pages)}")
            super().showPage()
        super().save()


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(printable(words)), style)
