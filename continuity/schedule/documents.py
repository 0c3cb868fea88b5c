"""What is written of the production, its story and its shooting schedule."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from functools import cache
from typing import Annotated, ClassVar, Self
from uuid import UUID
from zoneinfo import available_timezones

from pydantic import Field, field_validator, model_validator

from continuity.photos.documents import Angle
from continuity.stock.grade import Grade
from continuity.sync.document import ClockTime, Day, Document, Line, Name, Note, Part, Reference


class Weekday(StrEnum):
    MONDAY = "monday"
    TUESDAY = "tuesday"
    WEDNESDAY = "wednesday"
    THURSDAY = "thursday"
    FRIDAY = "friday"
    SATURDAY = "saturday"
    SUNDAY = "sunday"


class LabelPage(StrEnum):
    A4 = "a4"
    LETTER = "letter"


Millimetres = Annotated[float, Field(ge=0, le=150)]


@cache
def _time_zones() -> set[str]:
    """Read once: every file of the time zones is opened for it."""
    return available_timezones()


class ProductionDocument(Document):
    """The show, and what its cover and its orders are worked out with.

    ``prior_good`` and ``prior_spoiled`` are in copies applied, ``yield_prior_good`` and
    ``yield_prior_rejected`` in copies cast: each weighs like so many seen. ``pour_confidence`` is that with
    which the pours of an order are enough. ``transport_days`` are calendar days from the shop to the set;
    ``weekdays_off`` and ``dates_off`` are the shop's days off.

    For the cast ticket: ``scale_resolution_grams`` is the smallest step of the shop's scale,
    ``pour_waste_percent`` what stays in cups and on sticks on top of what is poured, ``shop_celsius`` the
    room's temperature, ``stirring_seconds`` the time from when A meets B to the first drop poured, and
    ``seconds_a_cavity`` the time to fill one. A weight further from the ratio than
    ``ratio_tolerance_percent`` is warned of. ``spray_room_cubic_metres`` and ``air_changes_per_hour`` are of
    the room that is sprayed in. The ``label_`` fields are the sheet of labels in the shop's printer: its
    margins outside the labels, the gaps between them.
    """

    name: Name
    time_zone: Line = "Europe/London"
    cover_target: Annotated[float, Field(gt=0, lt=1)] = 0.98
    prior_good: Annotated[float, Field(gt=0, le=10_000)] = 9.0
    prior_spoiled: Annotated[float, Field(gt=0, le=10_000)] = 1.0
    transport_days: Annotated[int, Field(ge=0, le=60)] = 1
    weekdays_off: Annotated[list[Weekday], Field(max_length=7)] = Field(
        default_factory=lambda: [Weekday.SUNDAY]
    )
    dates_off: Annotated[list[Day], Field(max_length=1000)] = Field(default_factory=list)
    pour_confidence: Annotated[float, Field(gt=0, lt=1)] = 0.9
    yield_prior_good: Annotated[float, Field(gt=0, le=10_000)] = 4.0
    yield_prior_rejected: Annotated[float, Field(gt=0, le=10_000)] = 1.0
    colour_not_visible: Annotated[float, Field(gt=0, le=100)] = 1.0
    colour_close: Annotated[float, Field(gt=0, le=100)] = 2.0
    colour_visible: Annotated[float, Field(gt=0, le=100)] = 4.0
    scale_resolution_grams: Annotated[float, Field(ge=0.001, le=100)] = 0.1
    pour_waste_percent: Annotated[float, Field(ge=0, le=200)] = 10.0
    shop_celsius: Annotated[float, Field(ge=-20, le=60)] = 21.0
    stirring_seconds: Annotated[float, Field(ge=0, le=3600)] = 60.0
    seconds_a_cavity: Annotated[float, Field(gt=0, le=3600)] = 45.0
    ratio_tolerance_percent: Annotated[float, Field(gt=0, le=50)] = 2.0
    spray_room_cubic_metres: Annotated[float, Field(gt=0, le=100_000)] | None = None
    air_changes_per_hour: Annotated[float, Field(ge=0, le=1000)] | None = None
    label_page: LabelPage = LabelPage.A4
    label_rows: Annotated[int, Field(ge=1, le=40)] = 7
    label_columns: Annotated[int, Field(ge=1, le=20)] = 3
    label_margin_top_millimetres: Millimetres = 15.0
    label_margin_side_millimetres: Millimetres = 7.0
    label_gap_across_millimetres: Millimetres = 2.5
    label_gap_down_millimetres: Millimetres = 0.0

    @field_validator("time_zone")
    @classmethod
    def _known_time_zone(cls, value: str) -> str:
        if value not in _time_zones():
            raise ValueError("is not the name of a time zone, such as Europe/London")
        return value

    @model_validator(mode="after")
    def _colour_bounds_rise(self) -> Self:
        if not self.colour_not_visible < self.colour_close < self.colour_visible:
            raise ValueError("colour_not_visible, colour_close and colour_visible do not rise in this order")
        return self


class UnitDocument(Document):
    name: Name


class CharacterDocument(Document):
    name: Name
    performer: UUID | None = None

    def references(self) -> Iterator[Reference]:
        if self.performer:
            yield "performer", self.performer


class LookDocument(Document):
    """How a character appears at a point of the story; looks of one wound form a progression.

    ``grades`` holds the grade the look asks for where it is not the appliance's own, by appliance.
    ``wanted_angles`` are the photos asked for of each application; none stands for front, both
    three-quarters and close-up. ``established`` is the application that the look is held to, and
    ``established_reason`` why it is another than before. ``order_of_work`` is what is done after what.
    """

    together: ClassVar[tuple[frozenset[str], ...]] = (frozenset({"established", "established_reason"}),)

    character: UUID
    name: Name
    progression: Line | None = None
    position: Annotated[int, Field(ge=0, le=1000)] = 0
    appliances: Annotated[list[UUID], Field(max_length=50)] = Field(default_factory=list)
    grades: Annotated[dict[UUID, Grade], Field(max_length=50)] = Field(default_factory=dict)
    chair_minutes: Annotated[int, Field(ge=0, le=1440)] | None = None
    note: Note | None = None
    wanted_angles: Annotated[list[Angle], Field(max_length=len(Angle))] = Field(default_factory=list)
    established: UUID | None = None
    established_reason: Line | None = None
    order_of_work: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "character", self.character
        for appliance in (*self.appliances, *self.grades):
            yield "appliance", appliance
        if self.established:
            yield "application", self.established


class InteriorExterior(StrEnum):
    INTERIOR = "interior"
    EXTERIOR = "exterior"
    BOTH = "both"


class DayNight(StrEnum):
    DAY = "day"
    NIGHT = "night"
    DAWN = "dawn"
    DUSK = "dusk"


class Worn(Part):
    """One person in a scene. Without a performer it is the character's own; a double is named."""

    character: UUID
    look: UUID | None = None
    performer: UUID | None = None


class SceneDocument(Document):
    """A scene. Its number is text ("42", "42A", "A42"); story order is by story day, then position."""

    number: Annotated[str, Field(min_length=1, max_length=20)]
    story_day: Annotated[int, Field(ge=-10_000, le=10_000)] | None = None
    position: Annotated[int, Field(ge=0, le=100_000)] = 0
    interior_exterior: InteriorExterior | None = None
    day_night: DayNight | None = None
    page_eighths: Annotated[int, Field(ge=0, le=800)] = 0
    synopsis: Note | None = None
    worn: Annotated[list[Worn], Field(max_length=100)] = Field(default_factory=list)

    def references(self) -> Iterator[Reference]:
        for worn in self.worn:
            yield "character", worn.character
            if worn.look:
                yield "look", worn.look
            if worn.performer:
                yield "performer", worn.performer


class PlannedScene(Part):
    """A scene in a shoot day's order. ``minutes`` is its planned length; performers named in
    ``taken_off_after`` have their make-up removed after it."""

    scene: UUID
    minutes: Annotated[int, Field(ge=1, le=1440)] | None = None
    taken_off_after: Annotated[list[UUID], Field(max_length=50)] = Field(default_factory=list)


class Call(Part):
    """When a performer must arrive."""

    performer: UUID
    time: ClockTime


class ShootDayDocument(Document):
    """A date with a unit: crew call, planned wrap (next morning when before the call), scenes in order."""

    date: Day
    unit: UUID
    crew_call: ClockTime
    wrap: ClockTime
    scenes: Annotated[list[PlannedScene], Field(max_length=100)] = Field(default_factory=list)
    calls: Annotated[list[Call], Field(max_length=200)] = Field(default_factory=list)
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "unit", self.unit
        for planned in self.scenes:
            yield "scene", planned.scene
            for performer in planned.taken_off_after:
                yield "performer", performer
        for call in self.calls:
            yield "performer", call.performer
