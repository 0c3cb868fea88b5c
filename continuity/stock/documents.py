"""What is written of appliances, moulds, cast runs, copies, counts of copies, and materials."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Self
from uuid import UUID

from pydantic import Field, model_validator

from continuity.stock.edge import EDGE_SOLVENTS, EdgeSolvent, Encapsulator
from continuity.stock.grade import Grade
from continuity.sync.document import Day, Document, Line, Moment, Name, Note, Part, Reference, items

Grams = Annotated[float, Field(ge=0, le=100_000)]
PartsOfAMix = Annotated[float, Field(gt=0, le=100)]
Celsius = Annotated[float, Field(ge=-20, le=60)]
Coats = Annotated[int, Field(ge=0, le=20)]


class ColourUnit(StrEnum):
    DROPS = "drops"
    GRAMS = "grams"
    PINCHES = "pinches"


class ColouredPart(StrEnum):
    """What a colour is stirred into; ``all`` is A, B and deadener, each apart."""

    A = "a"
    B = "b"
    DEADENER = "deadener"
    ALL = "all"


class IntrinsicColour(Part):
    """So much of a colour for each ``per_grams`` grams of what it is stirred into."""

    colour: Name
    amount: Annotated[float, Field(gt=0, le=10_000)]
    unit: ColourUnit
    per_grams: Annotated[float, Field(gt=0, le=100_000)]
    into: ColouredPart


class ApplianceDocument(Document):
    """A designed piece, made for one performer or generic, and what a copy of it is cast from.

    ``copy_grams`` is what the gel of one copy weighs, A, B and deadener together. ``parts_a``, ``parts_b``
    and ``deadener_parts`` are parts by weight, and a ``deadener_parts`` of 0 is a gel without;
    ``cap_plastic_parts`` and ``alcohol_parts`` are parts by volume. ``area_square_centimetres`` is what a
    coat of encapsulator has to cover. ``gel`` is a lot that pot life and cure time are taken from.
    """

    name: Name
    performer: UUID | None = None
    grade: Grade = Grade.HERO
    encapsulator: Encapsulator
    edge_solvent: EdgeSolvent
    copies_per_application: Annotated[int, Field(ge=1, le=50)] = 1
    wear_limit_minutes: Annotated[int, Field(ge=1, le=2880)] | None = None
    shelf_life_days: Annotated[int, Field(ge=1, le=3650)] | None = None
    copy_grams: Annotated[float, Field(gt=0, le=20_000)] | None = None
    parts_a: PartsOfAMix = 1
    parts_b: PartsOfAMix = 1
    deadener_parts: Annotated[float, Field(ge=0, le=100)] | None = None
    area_square_centimetres: Annotated[float, Field(gt=0, le=100_000)] | None = None
    coats_in_mould: Coats = 4
    coats_on_back: Coats = 4
    coat_millilitres_per_100_square_centimetres: Annotated[float, Field(gt=0, le=1000)] | None = None
    cap_plastic_parts: PartsOfAMix = 1
    alcohol_parts: Annotated[float, Field(ge=0, le=100)] = 5
    intrinsic_colour: Annotated[list[IntrinsicColour], Field(max_length=30)] = Field(default_factory=list)
    gel: UUID | None = None
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
        if self.gel:
            yield "material", self.gel


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


class Pour(Part):
    """One mix: what the scale said of each part, in grams; absent until it is weighed."""

    a_grams: Grams | None = None
    b_grams: Grams | None = None
    deadener_grams: Grams | None = None
    poured_at: Moment | None = None


class LotUsed(Part):
    """A lot that went into the run. ``amount`` is in the lot's own unit; absent, it is what the pours say."""

    material: UUID
    amount: Annotated[float, Field(ge=0, le=1_000_000)] | None = None


class Timer(Part):
    """A wait: the drying of a coat, the pot life, the cure. It is over ``minutes`` after ``started_at``."""

    what: Name
    minutes: Annotated[float, Field(gt=0, le=20_160)]
    started_at: Moment
    stopped_at: Moment | None = None


class CavityResult(StrEnum):
    GOOD = "good"
    LOWER_GRADE = "lower_grade"
    REJECTED = "rejected"


class Fault(StrEnum):
    """What is wrong with a copy out of the mould."""

    TORN_EDGE = "torn_edge"
    BUBBLE = "bubble"
    TACKY = "tacky"
    THICK_EDGE = "thick_edge"
    COLOUR = "colour"
    OTHER = "other"


class Cavity(Part):
    """What came out of one cavity. ``grade`` is that of the copy where it is not the appliance's own;
    ``copy_cast`` is the copy it became."""

    cavity: Annotated[int, Field(ge=1, le=1000)]
    result: CavityResult
    grade: Grade | None = None
    why: Fault | None = None
    note: Line | None = None
    copy_cast: UUID | None = None

    @model_validator(mode="after")
    def _rejected_for_a_reason(self) -> Self:
        if self.result is CavityResult.REJECTED and self.why is None:
            raise ValueError("a rejected copy needs a why")
        if self.result is CavityResult.REJECTED and self.copy_cast is not None:
            raise ValueError("a rejected cavity gives no copy")
        return self


class CastRunDocument(Document):
    """One cycle of a mould. Until ``good`` is written the run is due; then its copies count one by one.

    ``good`` are the copies that passed, those of a lower grade with them. Where ``cavities`` are written,
    what they say is what counts, and a ``good`` that says otherwise is warned of.
    """

    mould: UUID
    appliance: UUID
    order: UUID | None = None
    cast_on: Day
    due_on: Day
    copies_planned: Annotated[int, Field(ge=1, le=1000)]
    good: Annotated[int, Field(ge=0, le=1000)] | None = None
    rejected: dict[UUID, Rejected] = items(50)
    started_at: Moment | None = None
    temperature_celsius: Celsius | None = None
    pours: dict[UUID, Pour] = items(100)
    lots: dict[UUID, LotUsed] = items(50)
    timers: dict[UUID, Timer] = items(200)
    cavities: dict[UUID, Cavity] = items(1000)
    note: Note | None = None

    @model_validator(mode="after")
    def _dates_in_order(self) -> Self:
        if self.due_on < self.cast_on:
            raise ValueError("due_on is before cast_on")
        return self

    def references(self) -> Iterator[Reference]:
        yield "mould", self.mould
        yield "appliance", self.appliance
        if self.order:
            yield "order", self.order
        for lot in self.lots.values():
            yield "material", lot.material
        for cavity in self.cavities.values():
            if cavity.copy_cast:
                yield "copy", cavity.copy_cast


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


class CountedCopy(Part):
    """A copy that a count looked for, or came upon. ``held_as`` is where the records had it just before."""

    held_as: CopyState
    found: bool


class CountDocument(Document):
    """What of an appliance lay on the shelf on set when somebody looked: every copy held as on set, found or
    not, and every other one that was found. What becomes of the copies is written in their own records."""

    appliance: UUID
    copies: dict[UUID, CountedCopy] = items(2000)

    def references(self) -> Iterator[Reference]:
        yield "appliance", self.appliance
        for copy in self.copies:
            yield "copy", copy


class MaterialUse(StrEnum):
    """What a material is for; adhesive, edge solvent and remover are three different things."""

    ADHESIVE = "adhesive"
    EDGE_SOLVENT = "edge_solvent"
    REMOVER = "remover"
    PAINT = "paint"
    SEALER = "sealer"
    GEL_A = "gel_a"
    GEL_B = "gel_b"
    DEADENER = "deadener"
    CAP_PLASTIC = "cap_plastic"
    RELEASE = "release"
    PIGMENT = "pigment"


class MaterialUnit(StrEnum):
    GRAMS = "grams"
    MILLILITRES = "millilitres"
    PIECES = "pieces"


class Weighing(Part):
    """What was left of a lot, in its unit, at the end of a day: what was used that day is off it already."""

    left: Annotated[float, Field(ge=0, le=1_000_000)]
    weighed_on: Day


class MaterialDocument(Document):
    """One lot of a material. ``contains`` are words an allergy list may name ("latex", "colophony").

    ``amount`` is what the lot held when it was entered, in ``unit``; what has been used since is never
    written into it, but what is found to be left may be weighed (``weighings``). ``low_below`` and
    ``amount_per_application`` are in the same unit. Once opened a lot keeps ``opened_life_days``.
    ``pot_life_minutes`` is the maker's, at ``pot_life_celsius``.
    """

    name: Name
    use: MaterialUse
    solvent: EdgeSolvent | None = None
    lot: Line | None = None
    expires_on: Day | None = None
    opened_on: Day | None = None
    opened_life_days: Annotated[int, Field(ge=1, le=3650)] | None = None
    contains: Annotated[list[Name], Field(max_length=50)] = Field(default_factory=list)
    pot_life_minutes: Annotated[float, Field(gt=0, le=1440)] | None = None
    pot_life_celsius: Celsius | None = None
    cure_minutes: Annotated[int, Field(ge=1, le=20_160)] | None = None
    coat_dry_minutes: Annotated[int, Field(ge=1, le=1440)] | None = None
    amount: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    unit: MaterialUnit | None = None
    low_below: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    amount_per_application: Annotated[float, Field(gt=0, le=100_000)] | None = None
    weighings: dict[UUID, Weighing] = items(1000)
    note: Note | None = None

    @model_validator(mode="after")
    def _solvent_is_named(self) -> Self:
        if (self.use is MaterialUse.EDGE_SOLVENT) != (self.solvent is not None):
            raise ValueError("solvent is given for an edge solvent and for nothing else")
        return self

    @model_validator(mode="after")
    def _amounts_have_a_unit(self) -> Self:
        counted = (self.amount, self.low_below, self.amount_per_application)
        if self.unit is None and (self.weighings or any(amount is not None for amount in counted)):
            raise ValueError("unit is missing: an amount is in grams, millilitres or pieces")
        return self
