"""What is read in one cell, and what is not."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.schedule.csv_import import cells
from continuity.schedule.csv_import.table import LineFault


@pytest.mark.parametrize(
    ("written", "eighths"),
    # Script pages are counted in eighths: common practice, no source.
    [
        ("1 3/8", 11),
        ("3/8", 3),
        ("2", 16),
        ("0", 0),
        (" 7/8 ", 7),
        ("8/8", 8),
        ("2  1 / 8", 17),
        ("100", 800),
    ],
)
def test_pages_in_eighths(written: str, eighths: int) -> None:
    assert cells.page_eighths(written) == eighths


@pytest.mark.parametrize(
    "written",
    [
        "1 8/8",
        "1 9/8",
        "3/4",
        "1.5",
        "1 3/8 pages",
        "-1",
        "/8",
        "1 /8 3",
        "100 1/8",
        "801/8",
        "03-Aug",
        "½",
        "١",
    ],
)
def test_pages_that_are_not(written: str) -> None:
    with pytest.raises(LineFault, match="1 3/8, 3/8 or 2"):
        cells.page_eighths(written)


@given(st.integers(0, 800))
def test_eighths_in_words_are_read_back(eighths: int) -> None:
    assert cells.page_eighths(cells.eighths_in_words(eighths)) == eighths


def test_a_day_is_year_month_day() -> None:
    assert cells.day("The date", " 2024-02-29 ") == datetime.date(2024, 2, 29)


@pytest.mark.parametrize(
    "written",
    [
        "26/11/2026",
        "11/26/2026",
        "26.11.2026",
        "2026-11-31",
        "2026-2-3",
        "20261126",
        "2026-W48-4",
        "2025-02-29",
        "0001-01-01",
        "9999-12-31",
        "tomorrow",
        "2026-11-26T07:00",
        "46352",
    ],
)
def test_days_that_are_not(written: str) -> None:
    with pytest.raises(LineFault, match="The date"):
        cells.day("The date", written)


@pytest.mark.parametrize(
    ("written", "time"), [("04:30", "04:30"), ("4:30", "04:30"), ("23:59", "23:59"), ("00:00", "00:00")]
)
def test_times(written: str, time: str) -> None:
    assert cells.clock_time("The wrap", written) == time


@pytest.mark.parametrize(
    "written", ["24:00", "7", "7.30", "07:60", "7:30 PM", "0730", "07:30:00", "-1:00", "٠٧:٣٠"]
)
def test_times_that_are_not(written: str) -> None:
    with pytest.raises(LineFault, match="The wrap"):
        cells.clock_time("The wrap", written)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("INT", "interior"),
        ("int.", "interior"),
        ("Interior", "interior"),
        ("EXT", "exterior"),
        ("ext.", "exterior"),
        ("exterior", "exterior"),
        ("INT-EXT", "both"),
        ("INT./EXT.", "both"),
        ("ext/int", "both"),
        ("I/E", "both"),
        ("interior / exterior", "both"),
    ],
)
def test_interior_and_exterior(written: str, meant: str) -> None:
    assert cells.interior_exterior(written) == meant


@pytest.mark.parametrize(
    ("written", "meant"), [("DAY", "day"), ("n", "night"), ("Dawn", "dawn"), (" dusk ", "dusk")]
)
def test_day_and_night(written: str, meant: str) -> None:
    assert cells.day_night(written) == meant


def test_other_words_are_refused_with_those_that_are_known() -> None:
    with pytest.raises(LineFault, match="INT, EXT or INT-EXT, not “studio”"):
        cells.interior_exterior("studio")
    with pytest.raises(LineFault, match="DAY, NIGHT, DAWN or DUSK, not “later”"):
        cells.day_night("later")


@pytest.mark.parametrize("written", ["1.0", "three", "1e3", "10001", "-10001", "²", "99999999999999"])
def test_whole_numbers_that_are_not(written: str) -> None:
    with pytest.raises(LineFault, match="whole number from -10000 to 10000"):
        cells.whole_number("Story day", written, -10_000, 10_000)
