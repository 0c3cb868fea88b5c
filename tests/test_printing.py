"""The typeface on paper, drawn by another program than the one that wrote the page."""

from __future__ import annotations

import io

import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from continuity.printing import BOLD, PLAIN, printable, register_fonts

SCRIPTS = {
    "Latin": "Łódź, Ørsted, Nguyễn Thị",
    "Greek": "Ελένη Παπαδοπούλου",
    "Cyrillic": "Жуковский Їжакевич",
    "Armenian": "Հայկ",
    "Georgian": "ქართული",
    "signs": "≥ 2 × 5 – 3 °C → ☐ ✓",
}


def _page(face: str, words: str) -> pypdfium2.PdfPage:
    register_fonts()
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(400, 50))
    canvas.setFont(face, 20)
    canvas.drawString(10, 15, words)
    canvas.save()
    return pypdfium2.PdfDocument(file.getvalue())[0]


def _ink(face: str, words: str) -> int:
    """How many points of the page are dark."""
    return sum(_page(face, words).render(scale=2, grayscale=True).to_pil().histogram()[:128])


@pytest.mark.parametrize("script", SCRIPTS)
def test_every_letter_of_a_script_is_kept(script: str) -> None:
    words = SCRIPTS[script]
    assert printable(words) == words
    assert _page(PLAIN, words).get_textpage().get_text_range() == words


def test_letters_are_drawn_and_bold_is_heavier() -> None:
    # A letter the typeface lacked would be the same empty box, whichever it is.
    assert len({_ink(PLAIN, letter) for letter in "ЖγՀქŁ☐"}) == 6
    for words in SCRIPTS.values():
        assert _ink(BOLD, words) > _ink(PLAIN, words) > _ink(PLAIN, "")


def test_what_the_typeface_lacks_loses_its_accent_or_is_a_question_mark() -> None:
    assert printable("漢 and 字") == "? and ?"
    assert printable("\N{FULLWIDTH LATIN CAPITAL LETTER A}") == "A"
    assert printable("one\ntwo\tthree") == "one two three"
