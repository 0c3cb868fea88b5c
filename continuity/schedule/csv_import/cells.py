"""What stands in one cell: numbers, page eighths, days, times. Each raises `LineFault` with a sentence."""

from __future__ import annotations

import datetime
import re

from continuity.schedule.csv_import.table import LineFault, quoted
from continuity.schedule.documents import DayNight, InteriorExterior

_INTERIOR_EXTERIOR = {
    "int": InteriorExterior.INTERIOR,
    "interior": InteriorExterior.INTERIOR,
    "i": InteriorExterior.INTERIOR,
    "ext": InteriorExterior.EXTERIOR,
    "exterior": InteriorExterior.EXTERIOR,
    "e": InteriorExterior.EXTERIOR,
    "int ext": InteriorExterior.BOTH,
    "ext int": InteriorExterior.BOTH,
    "i e": InteriorExterior.BOTH,
    "e i": InteriorExterior.BOTH,
    "interior exterior": InteriorExterior.BOTH,
    "exterior interior": InteriorExterior.BOTH,
    "interior and exterior": InteriorExterior.BOTH,
    "both": InteriorExterior.BOTH,
}
_DAY_NIGHT = {
    "d": DayNight.DAY,
    "n": DayNight.NIGHT,
    **{day_night.value: day_night for day_night in DayNight},
}


def whole_number(heading: str, cell: str, lowest: int, highest: int) -> int:
    """A whole number within bounds."""
    cell = cell.strip()
    if not re.fullmatch(r"-?[0-9]{1,9}", cell) or not lowest <= int(cell) <= highest:
        raise LineFault(f"{heading} {quoted(cell)} is not a whole number from {lowest} to {highest}.")
    return int(cell)


def page_eighths(cell: str) -> int:
    """A length in pages, in eighths of a page: “1 3/8” is 11. Script length is counted in eighths (common
    practice, no source), so no other fraction is read."""
    found = re.fullmatch(r"(?:([0-9]{1,3})|(?:([0-9]{1,3}) +)?([0-9]{1,3}) ?/ ?8)", cell.strip())
    if found:
        whole, part = int(found[1] or found[2] or 0), int(found[3] or 0)
        if (found[2] is None or part < 8) and 8 * whole + part <= 800:
            return 8 * whole + part
    raise LineFault(f"Pages are written like 1 3/8, 3/8 or 2 and are at most 100, not {quoted(cell)}.")


def eighths_in_words(eighths: int) -> str:
    """11 as “1 3/8”."""
    whole, part = divmod(eighths, 8)
    return " ".join(filter(None, [str(whole) if whole or not part else "", f"{part}/8" if part else ""]))


def interior_exterior(cell: str) -> InteriorExterior:
    """INT, EXT, INT-EXT, or the words."""
    plain = " ".join(re.split(r"[\s./-]+", cell.casefold())).strip()
    if plain not in _INTERIOR_EXTERIOR:
        raise LineFault(f"Interior/exterior is INT, EXT or INT-EXT, not {quoted(cell)}.")
    return _INTERIOR_EXTERIOR[plain]


def day_night(cell: str) -> DayNight:
    """DAY, NIGHT, DAWN or DUSK."""
    plain = cell.strip().casefold()
    if plain not in _DAY_NIGHT:
        raise LineFault(f"Day/night is DAY, NIGHT, DAWN or DUSK, not {quoted(cell)}.")
    return _DAY_NIGHT[plain]


def day(heading: str, cell: str) -> datetime.date:
    """A date by ISO 8601, year-month-day: the one form in which day and month are never mistaken."""
    cell = cell.strip()
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", cell):
        try:
            found = datetime.date.fromisoformat(cell)
        except ValueError:
            raise LineFault(f"{heading}: the calendar has no {quoted(cell)}.") from None
        if 1950 <= found.year <= 2150:
            return found
        raise LineFault(f"{heading} {quoted(cell)} is not between the years 1950 and 2150.")
    raise LineFault(f"{heading} is written year-month-day, like 2026-11-26, not {quoted(cell)}.")


def clock_time(heading: str, cell: str) -> str:
    """A local time as HH:MM. A spreadsheet may have dropped the first nought of 04:30."""
    cell = cell.strip()
    if not re.fullmatch(r"([01]?[0-9]|2[0-3]):[0-5][0-9]", cell):
        raise LineFault(f"{heading} is a time from 00:00 to 23:59, like 04:30, not {quoted(cell)}.")
    return cell.zfill(5)
