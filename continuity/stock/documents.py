"""What is written of appliances, moulds, cast runs, copies and materials."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Self
from uuid import UUID

from pydantic import Field, model_validator

from continuity.stock.edge import EDGE_SOLVENTS, EdgeSolvent, Encapsulator
from continuity.stock.grade import Grade
from continuity.sync.document import Day, Document, Line, Name, Note, Part, Reference, items

Count = Annotated[int, Field(ge=0, le=10_000)]


class ApplianceDocument(Document):
    """A designed piece, made for one performer or generic."""

    name: Name
    performer: UUID | None = None
    grade: Grade = Grade.HERO
    encapsulator: Encapsulator
    edge_solvent: EdgeSolvent
    copies_per_application: Annotated[int, Field(ge=1, le=50)] = 1
    wear_limit_minutes: Annotated[int, Field(ge=1, le=2880)] | None = None
    shelf_life_days: Annotated[int, Field(ge=1, le=3650)] | None = None
    note: Note | None = None

    @model_validator(mode="after")
    def _solvent_follows_encapsulator(self) -> Self:
        if self.edge_solvent not in EDGE_SOLVENTS[self.encapsulator]:
            raise ValueError(
                f"edge solvent {self.edge_solvent} does not fit encapsulator {self.encapsulator}"
            )
        return self

    def references(self) -> Iterator[Reference]:
        if self.performer:
            yield "performer", self.performer


class MouldDocument(Document):
    """What copies are cast in. All cavities fill at once; a cycle is one fill, from release to demould, and
    so many of them are done on a working day."""

    name: Name
    appliances: Annotated[list[UUID], Field(min_length=1, max_length=20)]
    cavities: Annotated[int, Field(ge=1, le=100)] = 1
    cycles_per_day: Annotated[int, Field(ge=1, le=20)] = 1
    cycle_minutes: Annotated[int, Field(ge=1, le=20_160)]
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        for appliance in self.appliances:
            yield "appliance", appliance


class Rejected(Part):
    """Copies of a run that did not pass, and why."""

    copies: Annotated[int, Field(ge=1, le=1000)]
    why: Line


class CastRunDocument(Document):
    """One cycle of a mould. Until ``good`` is written the run is due; then its copies count one by one."""

    mould: UUID
    appliance: UUID
    cast_on: Day
    due_on: Day
    copies_planned: Annotated[int, Field(ge=1, le=1000)]
    good: Annotated[int, Field(ge=0, le=1000)] | None = None
    rejected: dict[UUID, Rejected] = items(50)
    note: Note | None = None

    @model_validator(mode="after")
    def _dates_in_order(self) -> Self:
        if self.due_on < self.cast_on:
            raise ValueError("due_on is before cast_on")
        return self

    def references(self) -> Iterator[Reference]:
        yield "mould", self.mould
        yield "appliance", self.appliance


class CopyState(StrEnum):
    """Where a copy is, or what became of it."""

    SHOP = "shop"
    IN_TRANSIT = "in_transit"
    ON_SET = "on_set"
    APPLIED = "applied"
    USED_UP = "used_up"
    DAMAGED = "damaged"
    LOST = "lost"


class CopyDocument(Document):
    """One cast of an appliance. ``state`` is what was last said of it; applications decide over it.

    ``set_aside_for`` is the scene it is kept for; it is no spare for anything else until that is shot.
    """

    appliance: UUID
    serial: Annotated[str, Field(min_length=1, max_length=40)]
    grade: Grade
    state: CopyState = CopyState.SHOP
    cast_run: UUID | None = None
    cast_on: Day | None = None
    use_by: Day | None = None
    expected_on: Day | None = None
    set_aside_for: UUID | None = None
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "appliance", self.appliance
        if self.cast_run:
            yield "cast_run", self.cast_run
        if self.set_aside_for:
            yield "scene", self.set_aside_for


class MaterialUse(StrEnum):
    """What a material is for; adhesive, edge solvent and remover are three different things."""

    ADHESIVE = "adhesive"
    EDGE_SOLVENT = "edge_solvent"
    REMOVER = "remover"
    PAINT = "paint"
    SEALER = "sealer"


class MaterialDocument(Document):
    """One lot of a material. ``contains`` are words an allergy list may name ("latex", "colophony")."""

    name: Name
    use: MaterialUse
    solvent: EdgeSolvent | None = None
    lot: Line | None = None
    expires_on: Day | None = None
    contains: Annotated[list[Name], Field(max_length=50)] = Field(default_factory=list)
    note: Note | None = None

    @model_validator(mode="after")
    def _solvent_is_named(self) -> Self:
        if (self.use is MaterialUse.EDGE_SOLVENT) != (self.solvent is not None):
            raise ValueError("solvent is given for an edge solvent and for nothing else")
        return self
