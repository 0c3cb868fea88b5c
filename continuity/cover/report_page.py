"""A table on A4 pages, landscape, as PDF: it has to be read on paper, from a printer without colours."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from continuity.printing import BOLD, PLAIN, NumberedPages, printable, register_fonts

HEADINGS = (
    "Appliance",
    "Spares now",
    "Coming",
    "First day at risk",
    "How sure",
    "Order",
    "Latest start",
)
_WIDTHS = tuple(width * mm for width in (74, 16, 17, 40, 26, 46, 54))
_COUNTS = (1, 2)  # Columns of numbers, which end at the right.
_MARGIN = 12 * mm
_PADDING = 6  # As much as a frame keeps from its edge, so that the words of the table begin below the title.
_HAIR, _SHADE = "#8a8a8a", "#ececec"


@dataclass(frozen=True)
class Row:
    """One line; `cells` go with `HEADINGS`. One that is `at_risk` is bold and has a mark before its name."""

    at_risk: bool
    cells: tuple[str, str, str, str, str, str, str]


def report_page(title: str, below: str, rows: Sequence[Row], uncounted: Sequence[str] = ()) -> bytes:
    """The page as PDF: a title, one line below it, what is not counted, and the table, its headings again on
    every page.
    """
    register_fonts()
    styles = {
        name: ParagraphStyle(name, fontName=face, fontSize=size, leading=size * 1.3, alignment=side)
        for name, face, size, side in (
            ("title", BOLD, 17, TA_LEFT),
            ("below", PLAIN, 9, TA_LEFT),
            ("heading", BOLD, 7.5, TA_LEFT),
            ("heading of counts", BOLD, 7.5, TA_RIGHT),
            ("plain", PLAIN, 9.5, TA_LEFT),
            ("plain counts", PLAIN, 9.5, TA_RIGHT),
            ("bold", BOLD, 9.5, TA_LEFT),
            ("bold counts", BOLD, 9.5, TA_RIGHT),
        )
    }

    def line(cells: Sequence[str], style: str, of_counts: str) -> list[Any]:
        return [_text(cell, styles[of_counts if at in _COUNTS else style]) for at, cell in enumerate(cells)]

    table = [line(HEADINGS, "heading", "heading of counts")]
    look: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 1.2, "black"),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, _HAIR),
        ("TOPPADDING", (0, 0), (-1, -1), 4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
        ("LEFTPADDING", (0, 0), (-1, -1), _PADDING),
        ("RIGHTPADDING", (0, 0), (-1, -1), _PADDING),
        ("RIGHTPADDING", (_COUNTS[0], 0), (_COUNTS[-1], -1), 10),
    ]
    for at, row in enumerate(rows, 1):
        name, *others = row.cells
        weight = "bold" if row.at_risk else "plain"
        table.append(line((f"! {name}" if row.at_risk else name, *others), weight, f"{weight} counts"))
        if row.at_risk:
            look.append(("BACKGROUND", (0, at), (-1, at), _SHADE))
    notes = "A line with ! is under what is wanted. How sure: the chance that no day planned is short."
    if not rows:
        notes = "There is no appliance yet."
    story = [
        _text(title, styles["title"]),
        Spacer(1, 1.5 * mm),
        _text(below, styles["below"]),
        *(_text(f"! Not counted: {words}", styles["bold"]) for words in uncounted),
        Spacer(1, 6 * mm),
        Table(table, colWidths=_WIDTHS, repeatRows=1, style=TableStyle(look)),
        Spacer(1, 4 * mm),
        _text(notes, styles["below"]),
    ]
    file = io.BytesIO()
    document = SimpleDocTemplate(
        file,
        pagesize=landscape(A4),
        title=printable(f"{title}: cover"),
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN,
    )
    document.build(story, canvasmaker=NumberedPages)
    return file.getvalue()


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(printable(words)), style)
