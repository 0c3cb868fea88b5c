"""Shoot days from a file."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator

from continuity.durations import minutes_in_words
from continuity.schedule.csv_import import cells
from continuity.schedule.csv_import.comparison import Identity, Json, Sheet
from continuity.schedule.csv_import.known import Head, Known
from continuity.schedule.csv_import.table import Column, LineFault, Row, quoted
from continuity.schedule.documents import ShootDayDocument

COLUMNS = (
    Column("date", "date", key=True),
    Column("unit", "unit", key=True),
    Column("crew_call", "crew call", ("call",)),
    Column("wrap", "wrap", ("planned wrap",)),
    Column("scenes", "scenes in order", ("scenes",)),
    Column("calls", "calls"),
)


def identify(row: Row, known: Known) -> Identity:
    """The shoot day of the line's unit on the line's date."""
    for field in ("date", "unit"):
        if not row.cells[field].strip():
            raise LineFault(f"The {field} is empty.")
    date = cells.day("The date", row.cells["date"]).isoformat()
    unit = known.unit_names.find(row.cells["unit"])
    key = f"{date} {unit.id}"
    heads = known.shoot_days_by_day
    return Identity(key, f"{date}, {unit.name}", heads.get((date, str(unit.id))))


def read(row: Row, head: Head | None, known: Known) -> dict[str, Json]:
    """What the line says of its shoot day."""
    found: dict[str, Json] = {}
    if head is None:
        found["date"] = row.cells["date"].strip()
        found["unit"] = str(known.unit_names.find(row.cells["unit"]).id)
    for field, heading in (("crew_call", "crew call"), ("wrap", "wrap")):
        if field in row.cells:
            if not row.cells[field].strip():
                raise LineFault(f"The {heading} is empty.")
            found[field] = cells.clock_time(f"The {heading}", row.cells[field])
        elif head is None:
            raise LineFault(f"A new shoot day needs a {heading}, and the file has no such column.")
    if "scenes" in row.cells:
        found["scenes"] = _scenes(row.cells["scenes"], head, known)
    if "calls" in row.cells:
        found["calls"] = _calls(row.cells["calls"], known)
    return found


def _scenes(cell: str, head: Head | None, known: Known) -> list[dict[str, Json]]:
    """“42, 42A=45, A51”: scenes in order, with minutes when they are known. What a file cannot say of a
    scene that stays (whose make-up comes off after it), and minutes it does not say, stay with the scene."""
    before: dict[str, list[dict[str, Json]]] = defaultdict(list)
    for planned in head.document.get("scenes", []) if head else []:
        before[planned["scene"]].append(planned)
    found = []
    for written in _pieces(cell, known):
        number, equals, minutes = written.partition("=")
        scene = str(known.scene_numbers.find(number).id)
        planned = dict(before[scene].pop(0)) if before[scene] else {"scene": scene}
        if equals:
            planned["minutes"] = cells.whole_number(f"The minutes of scene {number}", minutes, 1, 1440)
        found.append(planned)
    if len(found) > 100:
        raise LineFault("A shoot day has at most 100 scenes.")
    return found


def _pieces(cell: str, known: Known) -> Iterator[str]:
    """Each scene as it is written. Spaces separate too, unless the number itself has one."""
    for part in re.split(r"[,;\r\n]", cell):
        piece = " ".join(part.split()).replace(" =", "=").replace("= ", "=")
        number, _, minutes = piece.partition("=")
        if " " not in minutes and known.scene_numbers.look_for(number):
            yield piece
        else:
            yield from piece.split()


def _calls(cell: str, known: Known) -> list[dict[str, str]]:
    """“Name 04:30; Name 05:10”: when each performer must arrive."""
    found: list[dict[str, str]] = []
    for part in re.split(r"[;\r\n]", cell):
        if not part.strip():
            continue
        name, space, time = part.strip().rpartition(" ")
        if not space:
            raise LineFault(f"A call is written like Name 04:30, not {quoted(part)}.")
        clock = cells.clock_time(f"The call of {quoted(name)}", time)
        performer = str(known.performer_names.find(name).id)
        if any(call["performer"] == performer for call in found):
            raise LineFault(f"{quoted(name)} has two calls in this line.")
        found.append({"performer": performer, "time": clock})
    if len(found) > 200:
        raise LineFault("A shoot day has at most 200 calls.")
    return found


def _scenes_in_words(scenes: list[dict[str, Json]], known: Known) -> str:
    def one(planned: dict[str, Json]) -> str:
        minutes = f" ({minutes_in_words(planned['minutes'])})" if planned.get("minutes") else ""
        return f"{known.name_of(planned['scene'])}{minutes}"

    return ", ".join(one(planned) for planned in scenes)


def _calls_in_words(calls: list[dict[str, str]], known: Known) -> str:
    return ", ".join(f"{known.name_of(call['performer'])} {call['time']}" for call in calls)


SHOOT_DAYS = Sheet(
    kind="shoot_day",
    document=ShootDayDocument,
    columns=COLUMNS,
    identify=identify,
    read=read,
    in_words={
        "crew_call": ("crew call", lambda value, known: str(value)),
        "wrap": ("wrap", lambda value, known: str(value)),
        "scenes": ("scenes", _scenes_in_words),
        "calls": ("calls", _calls_in_words),
    },
    examples=(
        (
            "2026-11-26",
            "Main unit",
            "07:00",
            "18:00",
            "42, 42A=45, A51",
            "Performer Name 04:30; Stunt Name 05:10",
        ),
        ("2026-11-27", "Main unit", "15:00", "02:00", "51", ""),
    ),
    notes=(
        "Lines that begin with # and a space are notes and are not read. Write over the two examples.",
        "A shoot day is known by its date and unit. One that is there already is changed to what its"
        " line says.",
        "An empty cell means empty: what stood there is taken out. To leave something as it is, leave its"
        " whole column out. Date and unit are always needed, crew call and wrap for a new shoot day.",
        "Dates are year-month-day, like 2026-11-26. Set the column to text first, or a spreadsheet may turn"
        " it round. Times are 00:00 to 23:59; a wrap earlier than the crew call is the next morning.",
        "Scenes in order: numbers with commas, semicolons or spaces between; 42=45 plans 45 minutes. A scene"
        " that stays without minutes keeps those it has. Scenes, units and performers must be there already.",
        "Calls: name and time, with semicolons between.",
    ),
)
