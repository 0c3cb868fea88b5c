"""The sheet of labels, read back from its page as a phone and a person would."""

from __future__ import annotations

import io
from typing import Any
from uuid import uuid4

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL.Image import Image
from pypdf import PdfReader

from continuity.shop.labels import Label, NoRoom, Sheet, label_sheet
from tests.builders import Answer, Phone, Show, make_show, new_id

Json = dict[str, Any]
A4 = Sheet("a4", 7, 3, 15, 7, 2.5, 0)
DOTS = 4
"""Of the picture, for each point of the page: 288 dots an inch, less than a printer has."""


def _label(number: int) -> Label:
    address = f"https://set.local:8443/#/copy/{uuid4()}"
    return Label(address, f"CBL-{number:02}", "Cut brow, left", "Ana", "hero", None, None)


def _pages(content: bytes) -> list[Image]:
    return [page.render(scale=DOTS).to_pil() for page in pypdfium2.PdfDocument(content)]


def _found(page: Image) -> dict[str, tuple[float, float]]:
    """The text of every code on a page, and its middle in millimetres from the left and from the top."""
    found = {}
    for code in zxingcpp.read_barcodes(page):
        corners = code.position
        middle = (
            (corners.top_left.x + corners.bottom_right.x) / 2,
            (corners.top_left.y + corners.bottom_right.y) / 2,
        )
        found[code.text] = (middle[0] / DOTS / 72 * 25.4, middle[1] / DOTS / 72 * 25.4)
    return found


def test_every_code_is_read_back_and_lies_on_its_label() -> None:
    labels = [_label(number) for number in range(21)]
    (page,) = _pages(label_sheet(A4, labels))
    found = _found(page)
    assert found.keys() == {label.address for label in labels}
    # By hand: A4 is 210 x 297 mm; three labels across 210 - 2 x 7 - 2 x 2.5 = 191 mm are 63.67 mm wide, and
    # seven down 297 - 2 x 15 = 267 mm are 38.14 mm high.
    for number, label in enumerate(labels):
        row, column = divmod(number, 3)
        left, top = 7 + column * (63.667 + 2.5), 15 + row * 38.143
        across, down = found[label.address]
        assert left < across < left + 63.667 / 2
        assert abs(down - (top + 38.143 / 2)) < 1


def test_a_part_used_sheet_begins_at_the_label_that_is_left() -> None:
    labels = [_label(number) for number in range(4)]
    first, second = _pages(label_sheet(A4, labels, skip=19))
    assert _found(first).keys() == {labels[0].address, labels[1].address}
    assert _found(second).keys() == {labels[2].address, labels[3].address}
    # Place 20 is the second of the seventh row, and the second page begins at its first place.
    across, down = _found(first)[labels[0].address]
    assert 7 + 63.667 < across < 7 + 2 * 63.667
    assert down > 15 + 6 * 38
    across, down = _found(second)[labels[2].address]
    assert across < 7 + 63.667
    assert down < 15 + 38.2


sizes = st.builds(
    Sheet,
    st.sampled_from(["a4", "letter"]),
    st.integers(1, 12),
    st.integers(1, 5),
    st.floats(0, 20),
    st.floats(0, 20),
    st.floats(0, 8),
    st.floats(0, 8),
)


@settings(max_examples=12)
@given(sizes, st.integers(0, 59))
def test_any_sheet_is_read_back_or_refused(sheet: Sheet, skip: int) -> None:
    labels = [_label(number) for number in range(3)]
    if sheet.label_width < 20 or sheet.label_height < 12:
        with pytest.raises(NoRoom, match="mm is the least"):
            label_sheet(sheet, labels, skip % sheet.labels)
        return
    content = label_sheet(sheet, labels, skip % sheet.labels)
    found = [text for page in _pages(content) for text in _found(page)]
    assert sorted(found) == sorted(label.address for label in labels)


def test_a_serial_is_never_cut_off() -> None:
    """The longest there can be, on the narrowest label that is printed; a long name gives way."""
    serial, name = "ABCDEFGH-01234567-ABCDEFGH-01234567-9999", "A very long name of an appliance, and on"
    sheet = Sheet("a4", 12, 8, 5, 5, 2, 0)
    label = Label("https://set.local/#/copy/1", serial, name, "Ana", "hero", None, None)
    words = "".join(PdfReader(io.BytesIO(label_sheet(sheet, [label]))).pages[0].extract_text().split())
    assert serial in words
    assert name.replace(" ", "") not in words
    assert "…" in words


# -- over the API ------------------------------------------------------------------------------------------


@pytest.fixture
def labelled(show: Show) -> Show:
    patch = {"cast_on": "2026-11-20", "use_by": "2027-05-19"}
    for copy in show.copies:
        now = show.shop.record(copy)
        show.shop.send_ok(show.shop.entry("copy", patch, copy, now["revision"], seen=now["seq"]))
    return show


def _ask(phone: Phone, copies: list[str], more: str = "") -> bytes:
    answer = phone.account.client.get(phone.path(f"labels.pdf?copies={','.join(copies)}{more}"))
    assert answer.status_code == 200, answer.content
    assert answer.headers["Content-Type"] == "application/pdf"
    return bytes(answer.content)


def _words(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def test_a_label_says_what_a_person_needs(labelled: Show) -> None:
    content = _ask(labelled.shop, labelled.copies[:1])
    words = _words(content)
    for said in ("B1", "Brow", "Ana", "hero, cast 20 Nov 2026", "use by 19 May 2027"):
        assert said in words
    (page,) = _pages(content)
    assert _found(page).keys() == {f"http://testserver/#/copy/{labelled.copies[0]}"}


def test_the_sheet_is_the_productions_unless_the_request_says(labelled: Show) -> None:
    now = labelled.head.record(labelled.production)
    sheet = {"label_rows": 2, "label_columns": 1, "label_page": "letter"}
    entry = labelled.head.entry("production", sheet, labelled.production, now["revision"], seen=now["seq"])
    labelled.head.send_ok(entry)
    assert len(_pages(_ask(labelled.shop, labelled.copies))) == 2
    reader = PdfReader(io.BytesIO(_ask(labelled.shop, labelled.copies)))
    assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [612, 792]
    content = _ask(labelled.shop, labelled.copies, "&rows=10&columns=2&page=a4&margin_top=5")
    assert len(_pages(content)) == 1
    assert len(_found(_pages(content)[0])) == 3


def test_every_role_prints_labels_and_nobody_else(labelled: Show) -> None:
    for role in ("department_head", "set_artist", "continuity", "shop"):
        _ask(labelled.phone(role), labelled.copies)
    other = make_show("Another")
    refused = other.shop.account.get(labelled.shop.path(f"labels.pdf?copies={labelled.copies[0]}"))
    assert (refused.status, refused.body["code"]) == (404, "not_found")
    # A copy of another production is none of this one's.
    theirs = labelled.shop.account.get(labelled.shop.path(f"labels.pdf?copies={other.copies[0]}"))
    assert (theirs.status, theirs.body["code"]) == (404, "not_found")


BAD = [
    ("", 422, "copies"),
    ("copies=", 422, "copies"),
    ("copies=B1", 422, "copies"),
    ("copies={copy},", 422, "copies"),
    ("copies={copy}&copies=nonsense", 422, "copies"),
    ("copies={unknown}", 404, "copies"),
    ("copies={many}", 422, "copies"),
    ("copies={copy}&skip=-1", 422, "skip"),
    ("copies={copy}&skip=21", 422, "skip"),
    ("copies={copy}&skip=1.5", 422, "skip"),
    ("copies={copy}&rows=0", 422, "rows"),
    ("copies={copy}&rows=40", 422, "rows"),
    ("copies={copy}&columns=99", 422, "columns"),
    ("copies={copy}&margin_side=149", 422, "rows"),
    ("copies={copy}&margin_top=nan", 422, "margin_top"),
    ("copies={copy}&gap_down=1e3", 422, "gap_down"),
    ("copies={copy}&gap_across=-2", 422, "gap_across"),
    ("copies={copy}&page=a0", 422, "page"),
]


@pytest.mark.parametrize(("query", "status", "field"), BAD)
def test_what_cannot_be_printed(show: Show, query: str, status: int, field: str) -> None:
    many = ",".join(new_id() for _ in range(201))
    asked = query.format(copy=show.copies[0], unknown=new_id(), many=many)
    answer: Answer = show.shop.account.get(show.shop.path(f"labels.pdf?{asked}"))
    assert (answer.status, answer.body["field"]) == (status, field), answer.body
    assert answer.body["message"]
    assert answer.body["retryable"] is False
