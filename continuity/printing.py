"""What everything that is printed shares: the typeface, and what becomes of a letter that it does not have.

The typeface is carried along in `typefaces/`: a name in Latin, Greek, Cyrillic, Armenian or Georgian script
prints the same on every machine. Scripts that run from the right, or join their letters, are not there.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

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
