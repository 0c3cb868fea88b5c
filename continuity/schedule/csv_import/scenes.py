"""Scenes from a file."""

from __future__ import annotations

import re
from typing import Any
from uuid import UUID

from continuity.schedule.csv_import import cells
from continuity.schedule.csv_import.comparison import Identity, Json, Sheet
from continuity.schedule.csv_import.known import Head, Known
from continuity.schedule.csv_import.table import Column, LineFault, Row, plain_name, quoted
from continuity.schedule.documents import InteriorExterior, SceneDocument

COLUMNS = (
    Column("number", "scene number", ("scene", "number"), key=True),
    Column("story_day", "story day"),
    Column("position", "order in story", ("position",)),
    Column("interior_exterior", "interior/exterior", ("int/ext",)),
    Column("day_night", "day/night"),
    Column("page_eighths", "pages"),
    Column("synopsis", "synopsis"),
    Column("worn", "worn"),
)


def identify(row: Row, known: Known) -> Identity:
    """The scene with the line's number."""
    number = row.cells["number"].strip()
    if not number:
        raise LineFault("The scene number is empty.")
    if len(number) > 20 or re.search(r"[,;=\r\n]", number):
        raise LineFault(
            f"A scene number has at most 20 characters, no comma, semicolon or equals sign: {quoted(number)}."
        )
    scene = known.scene_numbers.look_for(number)
    if scene is None:
        return Identity(plain_name(number), f"Scene {number}", None)
    return Identity(str(scene.id), f"Scene {scene.name}", known.heads_by_id[scene.id])


def read(row: Row, head: Head | None, known: Known) -> dict[str, Json]:
    """What the line says of its scene."""
    found: dict[str, Json] = {} if head else {"number": row.cells["number"].strip()}
    for field, cell in row.cells.items():
        if field == "number":
            continue
        found[field] = _member(field, cell, known) if cell.strip() else None
    return found


def _member(field: str, cell: str, known: Known) -> Json:
    if field == "story_day":
        return cells.whole_number("Story day", cell, -10_000, 10_000)
    if field == "position":
        return cells.whole_number("Order in story", cell, 0, 100_000)
    if field == "interior_exterior":
        return cells.interior_exterior(cell).value
    if field == "day_night":
        return cells.day_night(cell).value
    if field == "page_eighths":
        return cells.page_eighths(cell)
    if field == "worn":
        return _worn(cell, known)
    if len(cell) > 5000:
        raise LineFault("The synopsis has more than 5000 characters.")
    return cell


def _worn(cell: str, known: Known) -> list[dict[str, str]]:
    """“Mara: cut brow, fresh; Mara: cut brow, fresh (by Name)”: character, look, and who stands in."""
    found: list[dict[str, str]] = []
    for part in re.split(r"[;\r\n]", cell):
        if not part.strip():
            continue
        written, by = _without_performer(part)
        name, colon, look = written.partition(":")
        if colon and not look.strip():
            raise LineFault(f"{quoted(part)} names no look after the colon.")
        character = known.character_names.find(name)
        worn = {"character": str(character.id)}
        if colon:
            worn["look"] = str(known.look_names(character.id).find(look).id)
        if by is not None:
            worn["performer"] = str(known.performer_names.find(by).id)
        if worn in found:
            raise LineFault(f"{quoted(part)} stands in the line twice.")
        found.append(worn)
    return found


def _without_performer(written: str) -> tuple[str, str | None]:
    written = written.strip()
    marks = list(re.finditer(r"\(by\s", written, re.IGNORECASE))
    if not written.endswith(")") or not marks:
        return written, None
    return written[: marks[-1].start()].strip(), written[marks[-1].end() : -1].strip()


def _worn_in_words(worn: list[dict[str, str]], known: Known) -> str:
    def one(item: dict[str, str]) -> str:
        look = f": {known.name_of(item['look'])}" if item.get("look") else ""
        by = f" (by {known.name_of(item['performer'])})" if item.get("performer") else ""
        return f"{known.name_of(UUID(item['character']))}{look}{by}"

    return ", ".join(one(item) for item in worn)


def _as_it_is(value: Any, known: Known) -> str:
    return str(value)


def _interior_exterior_in_words(value: str, known: Known) -> str:
    return "interior and exterior" if value == InteriorExterior.BOTH else value


SCENES = Sheet(
    kind="scene",
    document=SceneDocument,
    columns=COLUMNS,
    identify=identify,
    read=read,
    in_words={
        "story_day": ("story day", _as_it_is),
        "position": ("order in story", _as_it_is),
        "interior_exterior": ("interior/exterior", _interior_exterior_in_words),
        "day_night": ("day/night", _as_it_is),
        "page_eighths": ("pages", lambda value, known: cells.eighths_in_words(value)),
        "synopsis": ("synopsis", lambda value, known: quoted(value)),
        "worn": ("worn", _worn_in_words),
    },
    examples=(
        (
            "42",
            "3",
            "120",
            "INT",
            "NIGHT",
            "1 3/8",
            "Mara finds the letter, and hides it.",
            "Mara: cut brow, fresh; Mara: cut brow, fresh (by Stunt Name)",
        ),
        ("A51", "4", "160", "EXT", "DAY", "3/8", "Mara at the harbour.", "Mara: cut brow, one day old"),
    ),
    notes=(
        "Lines that begin with # and a space are notes and are not read. Write over the two examples.",
        "A scene is known by its number. One that is there already is changed to what its line says.",
        "An empty cell means empty: what stood there is taken out. To leave something as it is, leave its"
        " whole column out. Only the scene number is needed.",
        "Story day and order in story are whole numbers; the order sorts the scenes of one story day.",
        "Interior/exterior: INT, EXT or INT-EXT. Day/night: DAY, NIGHT, DAWN or DUSK.",
        "Pages are counted in eighths: 1 3/8, 3/8, 2. Set the column to text first, or a spreadsheet may turn"
        " 3/8 into a date.",
        "Worn: character: look, with semicolons between. (by Name) at the end says that a double wears it. A"
        " character without a look is in the scene without a make-up. Characters, looks and performers must"
        " be there already; upper and lower case make no difference.",
    ),
)
