"""A CSV text as rows: RFC 4180, and what spreadsheets make of it."""

from __future__ import annotations

import pytest

from continuity.schedule.csv_import.table import (
    MAXIMUM_CELL,
    MAXIMUM_LINES,
    Column,
    TableFault,
    plain_name,
    read_table,
)

COLUMNS = (
    Column("one", "one", key=True),
    Column("two", "second column", ("two", "2nd/column")),
    Column("three", "three"),
)


def cells(text: str) -> list[list[str]]:
    return [list(row.cells.values()) for row in read_table(text, COLUMNS)]


@pytest.mark.parametrize(
    ("rule", "text", "expected"),
    [
        # The examples of RFC 4180 section 2, by the number of its rule; the headings are ours.
        (
            1,
            "one,two,three\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
            [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]],
        ),
        (2, "one,two,three\r\naaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        (4, "one,two,three\r\naaa, b b ,ccc\r\n", [["aaa", " b b ", "ccc"]]),
        (
            5,
            'one,two,three\r\n"aaa","bbb","ccc"\r\nzzz,yyy,xxx\r\n',
            [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]],
        ),
        (
            6,
            'one,two,three\r\n"aaa","b\r\nbb","c,cc"\r\nzzz,yyy,xxx',
            [["aaa", "b\r\nbb", "c,cc"], ["zzz", "yyy", "xxx"]],
        ),
        (7, 'one,two,three\r\n"aaa","b""bb","ccc"\r\n', [["aaa", 'b"bb', "ccc"]]),
    ],
)
def test_what_rfc_4180_section_2_says(rule: int, text: str, expected: list[list[str]]) -> None:
    assert cells(text) == expected, f"rule {rule}"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_the_ways_spreadsheets_write_a_csv(separator: str, line_end: str, mark: str) -> None:
    lines = [separator.join(line) for line in (("one", "two", "three"), ("a", '"b,;\tb"', ""))]
    assert cells(mark + line_end.join(lines) + line_end) == [["a", "b,;\tb", ""]]


@pytest.mark.parametrize(
    "heading", ["second column", "Second_Column", " SECOND  COLUMN ", "second-column", "Two", "2nd / column"]
)
def test_headings_are_known_whatever_their_case_and_spaces(heading: str) -> None:
    assert read_table(f"{heading},ONE\nx,y\n", COLUMNS)[0].cells == {"two": "x", "one": "y"}


def test_a_column_left_out_is_told_apart_from_an_empty_cell() -> None:
    assert read_table("one,three\na,\n", COLUMNS)[0].cells == {"one": "a", "three": ""}


def test_lines_are_counted_as_they_stand_in_the_file() -> None:
    text = 'one,two\n\n"a\nb",1\n,\n# a note\nc,2\n#c,3\n'
    rows = read_table(text, COLUMNS)
    assert [(row.line, row.text) for row in rows] == [(3, '"a\nb",1'), (7, "c,2"), (8, "#c,3")]


def test_empty_columns_at_the_end_are_no_columns() -> None:
    assert cells("one,two,,\na,b,,\n") == [["a", "b"]]
    assert cells("one,two\na,b,,\n") == [["a", "b"]]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("\ufeff\r\n\r\n", "empty"),
        ("one,four\na,b\n", "no column “four”. The columns are: one, second column, three"),
        ("two,three\na,b\n", "“one” is missing"),
        ("one,two,ONE\na,b,c\n", "“one” stands in the first line twice"),
        ("one,two,second column\na,b,c\n", "“second column” stands in the first line twice"),
        ('one,two\na,"b\nc,d\n', "Line 2 opens a quotation mark that is never closed"),
        ('one,two\na,b\nc,"d"e\n', "Line 3: a cell goes on after its closing quotation mark"),
        ("one,two\na," + "b" * 200_000 + "\n", "Line 2 cannot be read: field larger than"),
        ("one\na\x00\n", "not plain text"),
        ("PK\x03\x04 one\n", "not plain text"),
        ("one\ncaf\ufffd\n", "not plain text"),
        ("one\n" + "a\n" * MAXIMUM_LINES, f"more than {MAXIMUM_LINES} lines"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(text: str, said: str) -> None:
    with pytest.raises(TableFault) as fault:
        read_table(text, COLUMNS)
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        # RFC 4180 section 2, rule 4: the same number of fields in every line.
        ("a", "1 of 2 cells"),
        ("a,b,c", "under no heading"),
        ("a," + "b" * (MAXIMUM_CELL + 1), f"more than {MAXIMUM_CELL} characters"),
    ],
)
def test_a_line_that_does_not_fit_the_headings_is_set_aside_alone(line: str, said: str) -> None:
    wrong, right = read_table(f"one,two\n{line}\nc,d\n", COLUMNS)
    assert wrong.cells == {}
    assert said in (wrong.fault or "")
    assert (right.cells, right.fault) == ({"one": "c", "two": "d"}, None)


def test_names_are_alike_whatever_their_case_spaces_and_accents() -> None:
    # The same letter composed in two ways (Unicode normalisation forms C and D).
    assert plain_name(" Zo\u00eb  OF the hill ") == plain_name("zoe\u0308 of THE hill")
    assert plain_name("Zoe") != plain_name("Zo\u00eb")
