"""What is written of a conflict: two things that cannot both be true, kept until a person says which is."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field

from continuity.sync.document import Document, Line, Note, Part, Reference


class ConflictSort(StrEnum):
    """Why two records collide."""

    COPY_APPLIED_TWICE = "copy_applied_twice"
    STALE_EDIT = "stale_edit"
    EDIT_OF_WITHDRAWN = "edit_of_withdrawn"
    RECIPE_VERSION_TWICE = "recipe_version_twice"


class CollidingField(Part):
    """A member both sides wrote: ``path`` from the document's root, what stands, and what was offered."""

    path: Annotated[list[str], Field(max_length=20)]
    kept: Any = None
    offered: Any = None


class Settled(Part):
    """What a person decided, in their words."""

    words: Note
    by: UUID


class ConflictDocument(Document):
    """Opened by the server; a person settles it. ``entry`` is the entry that collided, kept whole.

    ``health_fields_collided`` holds the colliding members that tell something of the performer's health.
    """

    health_fields: ClassVar[frozenset[str]] = frozenset({"health_fields_collided"})

    sort: ConflictSort
    about_kind: Line
    about: UUID
    other: UUID | None = None
    copy_used: UUID | None = None
    entry: UUID
    fields_collided: list[CollidingField] = Field(default_factory=list)
    health_fields_collided: list[CollidingField] = Field(default_factory=list)
    settled: Settled | None = None

    def references(self) -> Iterator[Reference]:
        if self.settled:
            yield "crew", self.settled.by
