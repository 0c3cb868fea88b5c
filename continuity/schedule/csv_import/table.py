"""A CSV text as rows under known headings. Plain functions, no database.

Read as RFC 4180 writes it, and a little wider because spreadsheets are: commas, semicolons or tabs
between the cells, any line end, a byte-order mark at the front.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

MAXIMUM_LINES = 2000
MAXIMUM_CELL = 10_000
NOTE = "# "
_SEPARATORS = ",;\t"
# A spreadsheet's own file, or a text in another encoding, read as if it were UTF-8.
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd]")


class TableFault(ValueError):
    """The file as a whole cannot be read; the message says why."""


class LineFault(ValueError):
    """One line cannot be read; the message says why."""


@dataclass(frozen=True)
class Column:
    """A column a file may have. ``key`` columns say which record a line is about, so every file has them."""

    field: str
    heading: str
    also: tuple[str, ...] = ()
    key: bool = False


@dataclass(frozen=True)
class Row:
    """A line under the headings. ``line`` is the line of the file it begins in, counted from 1; ``text`` is
    how it stands there; ``cells`` holds its cells by the column's field, only those the file has a column
    for. ``fault`` says why it has no cells."""

    line: int
    text: str
    cells: dict[str, str]
    fault: str | None = None


def read_table(text: str, columns: Sequence[Column]) -> list[Row]:
    """The rows of a CSV text, without empty lines and notes. Raises `TableFault`."""
    text = text.removeprefix("\ufeff")
    if _NOT_TEXT.search(text):
        raise TableFault("The file is not plain text in UTF-8; save it as “CSV UTF-8” and try again.")
    lines = list(io.StringIO(text, newline=""))
    if len(lines) > MAXIMUM_LINES:
        raise TableFault(f"The file has more than {MAXIMUM_LINES} lines; hand it in as several files.")
    records = _records(lines, _separator(lines, columns))
    header = next(records, None)
    if header is None:
        raise TableFault("The file is empty; its first line names the columns.")
    fields = _fields(header[2], columns)
    return [_row(record, fields) for record in records]


def plain_name(written: str) -> str:
    """A name as it is compared: case, spaces and the way accents are composed make no difference."""
    return " ".join(unicodedata.normalize("NFC", written).casefold().split())


def quoted(text: str) -> str:
    """What stands in the file, short enough for a sentence."""
    text = " ".join(text.split())
    return f"“{text if len(text) <= 60 else text[:59] + '…'}”"


_Record = tuple[int, str, list[str]]


def _records(lines: list[str], separator: str) -> Iterator[_Record]:
    reader = csv.reader(iter(lines), delimiter=separator, strict=True)
    while True:
        begins = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise TableFault(_csv_fault(str(error), begins, reader.line_num)) from None
        if not any(cell.strip() for cell in cells):
            continue
        if cells[0].startswith(NOTE) and not any(cell.strip() for cell in cells[1:]):
            continue
        yield begins, "".join(lines[begins - 1 : reader.line_num]).rstrip("\r\n"), cells


def _csv_fault(message: str, begins: int, ends: int) -> str:
    if "unexpected end of data" in message:
        return f"Line {begins} opens a quotation mark that is never closed."
    if "expected after" in message:
        return f"Line {ends}: a cell goes on after its closing quotation mark (inside, it is written twice)."
    return f"Line {ends} cannot be read: {message}."


def _separator(lines: list[str], columns: Sequence[Column]) -> str:
    """The separator under which the first line names the most columns."""
    known = _known(columns)

    def named(separator: str) -> int:
        try:
            header = next(_records(lines, separator), None)
        except TableFault:
            return -1
        return sum(_plain_heading(cell) in known for cell in header[2]) if header else 0

    return max(_SEPARATORS, key=named)


def _plain_heading(written: str) -> str:
    return " ".join(re.split(r"[\s_/-]+", written.casefold())).strip()


def _known(columns: Sequence[Column]) -> dict[str, Column]:
    return {_plain_heading(name): column for column in columns for name in (column.heading, *column.also)}


def _fields(header: list[str], columns: Sequence[Column]) -> list[str | None]:
    """The field of each column, None for one without a heading. Raises `TableFault`."""
    known = _known(columns)
    headings = [_plain_heading(cell) for cell in header]
    unknown = [cell.strip() for cell, heading in zip(header, headings, strict=True) if heading not in known]
    if any(unknown):
        names = ", ".join(quoted(name) for name in unknown[:10] if name)
        offered = ", ".join(column.heading for column in columns)
        raise TableFault(f"There is no column {names}. The columns are: {offered}.")
    fields = [known[heading].field if heading else None for heading in headings]
    for column in columns:
        if fields.count(column.field) > 1:
            raise TableFault(f"The column {quoted(column.heading)} stands in the first line twice.")
    missing = ", ".join(
        quoted(column.heading) for column in columns if column.key and column.field not in fields
    )
    if missing:
        raise TableFault(f"The column {missing} is missing in the first line.")
    return fields


def _row(record: _Record, fields: list[str | None]) -> Row:
    line, text, cells = record
    fault = _row_fault(cells, fields)
    named = zip(fields, cells, strict=False)
    return Row(line, text, {} if fault else {field: cell for field, cell in named if field}, fault)


def _row_fault(cells: list[str], fields: list[str | None]) -> str | None:
    # RFC 4180 section 2.4: every line has as many cells as the header. A short line is not guessed at,
    # because an empty cell takes something out of the record.
    if len(cells) < len(fields):
        return f"The line has {len(cells)} of {len(fields)} cells."
    padded = [*fields, *[None] * (len(cells) - len(fields))]
    if any(cell.strip() for field, cell in zip(padded, cells, strict=True) if field is None):
        return "A cell stands under no heading; a cell that contains the separator needs quotation marks."
    if any(len(cell) > MAXIMUM_CELL for cell in cells):
        return f"A cell has more than {MAXIMUM_CELL} characters."
    return None
