"""A file against a production: what it would add, what it would change, what of it cannot be read."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from continuity.schedule.csv_import.known import Head, Known
from continuity.schedule.csv_import.table import Column, LineFault, Row, read_table
from continuity.sync.document import Document
from continuity.sync.entry import described

Json = Any


@dataclass(frozen=True)
class Identity:
    """Which record a line is about. Lines with the same ``key`` are about the same one; ``head`` is None
    when there is no such record yet."""

    key: str
    title: str
    head: Head | None


@dataclass(frozen=True)
class Sheet:
    """A sort of file. ``read`` gives the members of the document that a row's cells say, None for one to be
    taken out; it and ``identify`` raise `LineFault`. ``in_words`` has, for each member, its word and how its
    value reads."""

    kind: str
    document: type[Document]
    columns: tuple[Column, ...]
    identify: Callable[[Row, Known], Identity]
    read: Callable[[Row, Head | None, Known], dict[str, Json]]
    in_words: Mapping[str, tuple[str, Callable[[Json, Known], str]]]
    examples: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class ReadLine:
    """A line that adds a record (``head`` is None) or changes one: the JSON Merge Patch and its words."""

    line: int
    head: Head | None
    patch: dict[str, Json]
    words: str


@dataclass(frozen=True)
class UnreadableLine:
    line: int
    reason: str
    text: str


@dataclass(frozen=True)
class Comparison:
    """What a file would do, each line once, in the file's order."""

    added: tuple[ReadLine, ...]
    changed: tuple[ReadLine, ...]
    unchanged: int
    unreadable: tuple[UnreadableLine, ...]


def compare(text: str, sheet: Sheet, known: Known) -> Comparison:
    """Read a file and compare each line with the production. Raises `TableFault` when it is no such file."""
    unreadable: list[UnreadableLine] = []
    identified: dict[str, list[tuple[Row, Identity]]] = defaultdict(list)

    def set_aside(row: Row, reason: str) -> None:
        unreadable.append(UnreadableLine(row.line, reason, row.text[:300]))

    for row in read_table(text, sheet.columns):
        try:
            if row.fault:
                raise LineFault(row.fault)
            identity = sheet.identify(row, known)
        except LineFault as fault:
            set_aside(row, str(fault))
        else:
            identified[identity.key].append((row, identity))

    read: list[ReadLine] = []
    for alike in identified.values():
        if len(alike) > 1:
            # Which of them is meant cannot be known, so none is taken.
            for row, identity in alike:
                lines = _listed(str(other.line) for other, _ in alike)
                set_aside(row, f"{identity.title} stands in lines {lines}; keep one of them.")
            continue
        row, identity = alike[0]
        try:
            read.append(_read_line(row, identity, sheet, known))
        except LineFault as fault:
            set_aside(row, str(fault))
    return Comparison(
        added=tuple(line for line in read if line.head is None),
        changed=tuple(line for line in read if line.head and line.patch),
        unchanged=sum(line.head is not None and not line.patch for line in read),
        unreadable=tuple(sorted(unreadable, key=lambda line: line.line)),
    )


def _read_line(row: Row, identity: Identity, sheet: Sheet, known: Known) -> ReadLine:
    head = identity.head
    before = head.document if head else {}
    members = {**before, **sheet.read(row, head, known)}
    try:
        document = sheet.document.model_validate_json(
            json.dumps({name: value for name, value in members.items() if value is not None})
        )
    except ValidationError as error:
        raise LineFault(described(error)[0]) from None
    after = document.to_json()
    patch = {name: value for name, value in after.items() if name not in before or before[name] != value}
    patch.update({name: None for name in before if name not in after})
    return ReadLine(row.line, head, patch, _words(identity, before, after, patch, sheet, known))


def _words(
    identity: Identity,
    before: dict[str, Json],
    after: dict[str, Json],
    patch: dict[str, Json],
    sheet: Sheet,
    known: Known,
) -> str:
    def value(members: dict[str, Json], name: str) -> str:
        found = members.get(name)
        unset = sheet.document.model_fields[name].get_default(call_default_factory=True)
        return "none" if found is None or found == unset else sheet.in_words[name][1](found, known)

    told = []
    for name, (word, _) in sheet.in_words.items():
        if name not in patch:
            continue
        now = value(after, name)
        if identity.head:
            told.append(f"{word} {value(before, name)} → {now}")
        elif now != "none":
            told.append(f"{word} {now}")
    return f"{identity.title}: {'; '.join(told)}" if told else identity.title


def _listed(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first[:10])}{', …' if len(first) > 10 else ''} and {last}"
