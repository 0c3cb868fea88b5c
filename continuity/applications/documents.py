"""What is written of an application (one wearing), and of the paint recipe it used."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field

from continuity.photos.documents import Photo, PhotoMoment
from continuity.sync.document import Day, Document, Line, Moment, Name, Note, Part, Reference, items


class RecipeStep(Part):
    """One layer of paint: where, with what, how."""

    zone: Line
    paint: UUID | None = None
    mix: Line
    tool: Line | None = None


class RecipeDocument(Document):
    """A version of a paint recipe. It never changes: a change is a new version that names the one before."""

    name: Name
    look: UUID
    version: Annotated[int, Field(ge=1, le=10_000)] = 1
    previous: UUID | None = None
    steps: Annotated[list[RecipeStep], Field(min_length=1, max_length=100)]
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "look", self.look
        if self.previous:
            yield "recipe", self.previous
        for step in self.steps:
            if step.paint:
                yield "material", step.paint


class Outcome(StrEnum):
    """What became of a copy taken for an application: it went on and lasted, it was spoiled on the way, or it
    went on well and was lost during the day (came off, was torn), so that another had to be taken."""

    GOOD = "good"
    SPOILED = "spoiled"
    LOST = "lost"


class CopyUse(Part):
    """A copy taken from the box: put on well, or spoiled on the way or lost on set, and why."""

    copy_used: UUID
    outcome: Outcome = Outcome.GOOD
    why: Line | None = None


class AdhesiveUse(Part):
    zone: Name
    material: UUID


class TouchUp(Part):
    at: Moment
    reason: Line


class Break(Part):
    started_at: Moment
    ended_at: Moment | None = None


HEALTH_CODES = frozenset({"adhesive_on_allergy_list", "adhesive_no_patch_test", "adhesive_reaction_recorded"})
"""The codes of the warnings that tell something of the performer's health."""


class Override(Part):
    """A warning the artist read and went past: its words then, when, and why."""

    words: Line
    at: Moment
    why: Line | None = None


class ApplicationDocument(Document):
    """One wearing, from the chair to removal.

    ``overridden`` and ``health_overridden`` are keyed by the warning's key, the latter for the warnings
    that tell something of the performer's health.
    """

    health_fields: ClassVar[frozenset[str]] = frozenset({"skin_after", "health_overridden"})

    performer: UUID
    look: UUID
    date: Day
    artist: UUID
    scenes: Annotated[list[UUID], Field(max_length=50)] = Field(default_factory=list)
    copies: dict[UUID, CopyUse] = items(50)
    adhesives: dict[UUID, AdhesiveUse] = items(30)
    edge_solvent: UUID | None = None
    recipe: UUID | None = None
    recipe_differences: Note | None = None
    sealer: UUID | None = None
    started_at: Moment | None = None
    ready_at: Moment | None = None
    on_camera_at: Moment | None = None
    touch_ups: dict[UUID, TouchUp] = items(200)
    breaks: dict[UUID, Break] = items(50)
    removed_at: Moment | None = None
    remover: UUID | None = None
    copy_after: Note | None = None
    skin_after: Note | None = None
    photos: dict[UUID, Photo] = items(200)
    overridden: dict[Line, Override] = items(100)
    health_overridden: dict[Line, Override] = items(100)
    note: Note | None = None

    @classmethod
    def without_health(cls, document: dict[str, Any]) -> dict[str, Any]:
        """Without the skin notes, what was overridden of health, and photos of bare skin after removal."""
        shown = super().without_health(document)
        # A phone writes these into `health_overridden`; wherever they stand, they are not for everybody.
        shown["overridden"] = {
            key: override
            for key, override in document["overridden"].items()
            if key.partition(":")[0] not in HEALTH_CODES
        }
        shown["photos"] = {
            item: photo
            for item, photo in document["photos"].items()
            if photo["moment"] != PhotoMoment.REMOVED
        }
        return shown

    def references(self) -> Iterator[Reference]:
        yield "performer", self.performer
        yield "look", self.look
        yield "crew", self.artist
        for scene in self.scenes:
            yield "scene", scene
        for use in self.copies.values():
            yield "copy", use.copy_used
        for adhesive in self.adhesives.values():
            yield "material", adhesive.material
        for material in (self.edge_solvent, self.sealer, self.remover):
            if material:
                yield "material", material
        if self.recipe:
            yield "recipe", self.recipe
        for photo in self.photos.values():
            if photo.scene:
                yield "scene", photo.scene
