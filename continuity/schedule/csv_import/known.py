"""What a file is compared with: the names of a production, and its scenes or shoot days as they stand."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from uuid import UUID

from continuity.schedule.csv_import.table import LineFault, plain_name, quoted


@dataclass(frozen=True)
class Named:
    """A record that a file calls by its name (a scene: by its number)."""

    id: UUID
    name: str


@dataclass(frozen=True)
class KnownLook(Named):
    character: UUID


@dataclass(frozen=True)
class Head:
    """A scene or shoot day as it stands: its latest entry, its place in the feed, its document."""

    id: UUID
    revision: UUID
    seq: int
    document: dict[str, Any]


class Names:
    """Records by name, whatever the case; ``owner`` is whose they are, when it is not the production."""

    def __init__(self, what: str, items: Iterable[Named], owner: str = "") -> None:
        self.what = what
        self.owner = owner
        self.items = sorted(items, key=lambda item: (item.name, item.id))
        self._alike: dict[str, list[Named]] = defaultdict(list)
        for item in self.items:
            self._alike[plain_name(item.name)].append(item)

    def look_for(self, written: str) -> Named | None:
        """The one record meant, None when there is none. Raises `LineFault` when there are several."""
        alike = self._alike.get(plain_name(written), [])
        exactly = [item for item in alike if item.name == written.strip()]
        found = exactly or alike
        if len(found) > 1:
            raise LineFault(f"More than one {self.what} is called {quoted(written)}; which one is meant?")
        return found[0] if found else None

    def find(self, written: str) -> Named:
        """The one record meant. Raises `LineFault` naming what there is instead."""
        found = self.look_for(written)
        if found:
            return found
        # Names often have a comma in them: "Cut brow, left".
        there = "; ".join(item.name for item in self.items[:8]) + ("; …" if len(self.items) > 8 else "")
        raise LineFault(
            f"{self.owner + ' has' if self.owner else 'There is'} no {self.what} {quoted(written)}. "
            + (f"There is: {there}." if there else "There is none yet; add it in the set-up first.")
        )


@dataclass(frozen=True)
class Known:
    """The records of one production a file may speak of; none that was withdrawn. ``heads`` are those of
    the kind the file is about."""

    units: tuple[Named, ...] = ()
    characters: tuple[Named, ...] = ()
    looks: tuple[KnownLook, ...] = ()
    performers: tuple[Named, ...] = ()
    scenes: tuple[Named, ...] = ()
    heads: tuple[Head, ...] = ()

    @cached_property
    def unit_names(self) -> Names:
        return Names("unit", self.units)

    @cached_property
    def character_names(self) -> Names:
        return Names("character", self.characters)

    @cached_property
    def performer_names(self) -> Names:
        return Names("performer", self.performers)

    @cached_property
    def scene_numbers(self) -> Names:
        return Names("scene", self.scenes)

    @cached_property
    def _looks_of(self) -> dict[UUID, Names]:
        of: dict[UUID, list[KnownLook]] = defaultdict(list)
        for look in self.looks:
            of[look.character].append(look)
        return {
            character.id: Names("look", of[character.id], owner=character.name)
            for character in self.characters
        }

    def look_names(self, character: UUID) -> Names:
        """The looks of one character."""
        return self._looks_of[character]

    @cached_property
    def heads_by_id(self) -> dict[UUID, Head]:
        return {head.id: head for head in self.heads}

    @cached_property
    def shoot_days_by_day(self) -> dict[tuple[str, str], Head]:
        """Shoot days by date and unit, of which there is one at most."""
        return {(head.document["date"], head.document["unit"]): head for head in self.heads}

    @cached_property
    def _name_of(self) -> dict[UUID, str]:
        groups = (self.units, self.characters, self.looks, self.performers, self.scenes)
        return {item.id: item.name for group in groups for item in group}

    def name_of(self, record: UUID | str) -> str:
        """The name of a record some document points to."""
        return self._name_of.get(UUID(str(record)), "(withdrawn)")

    def digest(self, kind: str, text: str) -> str:
        """A SHA-256 over a file's text and everything it was compared with, in hexadecimal: as long as it
        stays the same, confirming the file does what its preview said."""
        groups: list[list[list[str]]] = [
            sorted([str(item.id), item.name] for item in group)
            for group in (self.units, self.characters, self.performers, self.scenes)
        ]
        groups.append(sorted([str(look.id), look.name, str(look.character)] for look in self.looks))
        groups.append(sorted([str(head.id), str(head.revision)] for head in self.heads))
        return hashlib.sha256(json.dumps([kind, text, groups]).encode()).hexdigest()
