"""What is written of performers and of the crew."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import ClassVar
from uuid import UUID

from continuity.sync.document import Day, Document, Line, Name, Note, Part, Reference, items


class Role(StrEnum):
    """What a member of the crew is on this production."""

    SET_ARTIST = "set_artist"
    CONTINUITY = "continuity"
    SHOP = "shop"
    DEPARTMENT_HEAD = "department_head"


class Allergy(Part):
    """A substance the performer does not tolerate, in the word used on the material ("latex")."""

    substance: Name
    note: Note | None = None


class PatchTestResult(StrEnum):
    """What was seen at a reading. The software records it and does not interpret it."""

    NO_REACTION = "no_reaction"
    DOUBTFUL = "doubtful"
    REACTION = "reaction"


class PatchTestReading(Part):
    read_on: Day
    result: PatchTestResult
    note: Note | None = None


class PatchTest(Part):
    """A trial of one material on the performer's skin: applied, then read on later days."""

    material: UUID
    applied_on: Day
    readings: dict[UUID, PatchTestReading] = items(20)


class PerformerDocument(Document):
    """Who wears the make-up; a stunt or photo double names the performer they stand in for."""

    health_fields: ClassVar[frozenset[str]] = frozenset({"allergies", "patch_tests"})

    name: Name
    doubles: UUID | None = None
    note: Note | None = None
    allergies: dict[UUID, Allergy] = items(50)
    patch_tests: dict[UUID, PatchTest] = items(100)

    def references(self) -> Iterator[Reference]:
        if self.doubles:
            yield "performer", self.doubles
        for test in self.patch_tests.values():
            yield "material", test.material


class CrewDocument(Document):
    """A member of the crew. Made on the server when an account is given a role, never on a phone."""

    name: Name
    username: Line
    role: Role
    active: bool = True
