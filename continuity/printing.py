"""What everything that is printed shares: the typeface, and what becomes of a letter that it does not have.

The typeface is carried along in `typefaces/`: a name in Latin, Greek, Cyrillic, Armenian or Georgian script
prints the same on every machine. Scripts that run from the right, or join their letters, are not there.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

PLAIN = "Sheet"
BOLD = "Sheet bold"
_FILES = {PLAIN: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}


@cache
def register_fonts() -> None:
    """Makes `PLAIN` and `BOLD` known to ReportLab, for `fontName` of a style, `setFont` and `<font name=…>`.

    To be called before the first style or canvas that names them. `<b>` in a paragraph of `PLAIN` is `BOLD`.
    """
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, Path(__file__).parent / "typefaces" / file))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


def printable(words: str) -> str:
    """The words in letters that the typeface has: others lose their accent, or become a question mark.

    White space, line ends too, becomes plain spaces. It does not escape: for a paragraph, pass the outcome
    through `xml.sax.saxutils.escape`.
    """
    register_fonts()
    glyphs = pdfmetrics.getFont(PLAIN).face.charToGlyph

    def drawn(letter: str) -> str:
        if letter.isspace():
            return " "
        if ord(letter) in glyphs:
            return letter
        bare = "".join(each for each in unicodedata.normalize("NFKD", letter) if ord(each) in glyphs)
        return bare if bare.strip() else "?"

    return "".join(drawn(letter) for letter in unicodedata.normalize("NFC", words))


class NumberedPages(Canvas):  # type: ignore[misc]
    """A canvas whose every page says at its foot what it is of (the document's title) and "page 1 of 3",
    which is known only when all pages are there."""

    edge, foot = 14 * mm, 7.5 * mm

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
            self.drawString(self.edge, self.foot, self._doc.info.title)
            right = self._pagesize[0] - self.edge
            self.drawRightString(right, self.foot, f"page {number} of {len(self._pages)}")
            super().showPage()
        super().save()
