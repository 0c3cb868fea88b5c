"""The shapes of requests and answers. Reading a request against its shape names the first wrong field."""

from __future__ import annotations

import datetime
import json
from typing import Annotated, Any, Literal, Self, TypeVar
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError, model_validator

from continuity.applications.documents import Outcome
from continuity.cover.demand import Reason
from continuity.cover.fixes import Remedy
from continuity.people.documents import Role
from continuity.stock.grade import Grade
from continuity.sync.document import ClockTime, Day, Document, Line, Name
from continuity.sync.entry import described
from continuity.sync.refusal import Code, Refusal

Username = Annotated[str, StringConstraints(pattern=r"^[\w.@+-]{1,150}$")]
AccountName = Annotated[Name, StringConstraints(max_length=150)]


class Shape(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


ShapeType = TypeVar("ShapeType", bound=Shape)


def read_shape(shape: type[ShapeType], data: Any) -> ShapeType:
    """``data`` as the shape. Raises `Refusal` (not_a_request) naming the first field that is wrong."""
    try:
        return shape.model_validate_json(json.dumps(data))
    except (ValidationError, TypeError) as error:
        if isinstance(error, ValidationError):
            words, path = described(error)
            raise Refusal(Code.not_a_request, words, field=path) from None
        raise Refusal(Code.not_a_request, "The request has no JSON body.") from None


DocumentType = TypeVar("DocumentType", bound=Document)


def read_document(document: type[DocumentType], data: Any) -> DocumentType:
    """``data`` as a document. Raises `Refusal` (not_a_document) naming the first field that is wrong."""
    try:
        return document.model_validate_json(json.dumps(data))
    except ValidationError as error:
        words, path = described(error)
        raise Refusal(Code.not_a_document, words, field=path) from None


class ErrorShape(Shape):
    code: str
    message: str
    retryable: bool
    field: str | None = None


ERRORS = {"4XX": ErrorShape}
"""What every view may answer, for the OpenAPI document."""


class SignIn(Shape):
    username: Annotated[str, Field(max_length=150)]
    password: Annotated[str, Field(max_length=1000)]


class UserShape(Shape):
    id: int
    username: str
    name: str


class ProductionShape(Shape):
    id: UUID
    name: str
    role: Role
    crew: UUID


class SessionShape(Shape):
    answer: Literal["session"] = "session"
    signed_in: bool
    csrf: str
    user: UserShape | None
    may_create_productions: bool
    productions: list[ProductionShape]


class NewProduction(Shape):
    id: UUID
    name: Name
    time_zone: Line = "Europe/London"


class NewCrewMember(Shape):
    username: Username
    name: AccountName
    password: Annotated[str, Field(max_length=1000)]
    role: Role


class CrewChange(Shape):
    name: AccountName | None = None
    role: Role | None = None
    active: bool | None = None

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if self.name is None and self.role is None and self.active is None:
            raise ValueError("names neither a name, nor a role, nor whether the person is active")
        return self


class EntriesSent(Shape):
    device: UUID
    entries: Annotated[list[Any], Field(max_length=500, json_schema_extra={"items": {"type": "object"}})]


class EntryResultShape(Shape):
    id: UUID | None
    result: Literal["stored", "repeat", "conflict", "held", "refused"]
    status: int
    code: str
    message: str
    retryable: bool
    field: str | None
    revision: UUID | None


class EntriesAnswer(Shape):
    answer: Literal["entries"] = "entries"
    results: list[EntryResultShape]


class EntriesAsked(Shape):
    ids: Annotated[list[UUID], Field(max_length=1000)]


class MissingEntriesAnswer(Shape):
    answer: Literal["missing"] = "missing"
    ids: list[UUID]


class PhotoResultShape(Shape):
    sha256: str
    state: str
    message: str


class UnsentAnswer(Shape):
    answer: Literal["unsent"] = "unsent"
    results: list[EntryResultShape]
    photos: list[PhotoResultShape]


class FileAnswer(Shape):
    answer: Literal["file"] = "file"
    state: Literal["awaited", "stored"]
    received: int
    renditions: Literal["to_be_made", "made", "failed"]
    reason: str = ""


class UsageLogShape(Shape):
    good: int
    spoiled: int
    lost: int


class CoverDayShape(Shape):
    date: datetime.date
    applications: int
    copies_needed: int
    arrivals: int
    expected_left: float | None
    left_p10: int | None
    left_p90: int | None
    p_short_by: float


class PoolingShape(Shape):
    """Where the prior comes from; ``explanation`` follows "The prior is"."""

    source: str
    explanation: str
    prior: list[float]


class RatesShape(Shape):
    """``success`` and ``spoiled`` per copy taken, ``lost`` per application, each from 0 to 1."""

    success: float
    spoiled: float
    lost: float


class GradeShortShape(Shape):
    grade: Grade
    p_short_by_end: float


class PoursShape(Shape):
    date: datetime.date
    pours: int


class ReorderShape(Shape):
    copies: int
    pours: int
    latest_start: datetime.date | None
    possible: bool
    best_p_covered: float
    still_short: datetime.date | None
    schedule: list[PoursShape]


class ApplianceCoverShape(Shape):
    appliance: UUID
    spares_now: int
    on_set: int
    in_transit: int
    due: int
    undated: int
    set_aside: int
    log: UsageLogShape
    rests_on: str
    rates: RatesShape
    prior: list[float]
    pooling: PoolingShape
    p_covered: float
    exact: bool
    left_out: float
    until: datetime.date | None
    grades: list[GradeShortShape] | None
    reorder: ReorderShape | None
    order: UUID | None
    first_day_at_risk: datetime.date | None
    days: list[CoverDayShape]


class CoverAnswer(Shape):
    answer: Literal["cover"] = "cover"
    worked_out_at: datetime.datetime
    target: float
    appliances: list[ApplianceCoverShape]


class PlannedApplicationShape(Shape):
    """``why`` it is a new application: first of the day, look change, taken off between, or wear limit.
    ``starts_at`` and ``ends_at`` are minutes after midnight of the day; above 1440 is past midnight."""

    performer: UUID
    look: UUID
    scenes: list[UUID]
    why: Reason
    copies: int
    starts_at: int
    ends_at: int


class DayReasonsShape(Shape):
    date: datetime.date
    applications: list[PlannedApplicationShape]


class LogLineShape(Shape):
    application: UUID
    date: datetime.date
    performer: UUID
    look: UUID
    copy_used: Annotated[UUID, Field(alias="copy")]
    outcome: Outcome
    why: str | None


class SupplyLineShape(Shape):
    """``on`` is the date from which copies count; null for those on set, and for those that nobody has said
    a date for. ``order``: what is still to come of an order that stands."""

    place: Literal["on_set", "in_transit", "shop", "run", "order", "set_aside"]
    copies: int
    on: datetime.date | None
    use_by: datetime.date | None
    serials: list[str]
    scene: UUID | None
    cast_run: UUID | None
    order: UUID | None


class FixShape(Shape):
    """``p_covered`` is the best cover with the remedy; ``copies`` those of a lower grade that would serve;
    ``moved`` and ``to`` the shoot day moved and its new date."""

    remedy: Remedy
    enough: bool
    p_covered: float
    copies: int
    moved: datetime.date | None
    to: datetime.date | None
    words: str


class ExtraCopiesShape(Shape):
    """What copies that do not last ask for on top of those ``needed``: ``spoiled`` and ``lost`` on average,
    null where there is no mean; ``for_target`` are enough with the cover that is wanted, null where no number
    is. ``chances`` are the probabilities that 0, 1, 2, ... of them are enough."""

    needed: int
    spoiled: float | None
    lost: float | None
    for_target: int | None
    chances: list[float]


class CoverReasonsAnswer(Shape):
    """What the numbers of one appliance's cover rest on."""

    answer: Literal["cover_reasons"] = "cover_reasons"
    extra: ExtraCopiesShape
    days: list[DayReasonsShape]
    log: list[LogLineShape]
    supply: list[SupplyLineShape]
    fixes: list[FixShape]


class MoveShootDayShape(Shape):
    change: Literal["move_shoot_day"]
    shoot_day: UUID
    date: Day


class AddShootDayShape(Shape):
    change: Literal["add_shoot_day"]
    date: Day
    unit: UUID
    crew_call: ClockTime
    wrap: ClockTime
    scenes: Annotated[list[UUID], Field(max_length=100)]


class ReshootShape(Shape):
    """The scene is shot again on that date: by the first unit that shoots then, or on a day of its own."""

    change: Literal["reshoot"]
    scene: UUID
    date: Day


class LoseCopiesShape(Shape):
    """So many copies on set are lost."""

    change: Literal["lose_copies"]
    appliance: UUID
    copies: Annotated[int, Field(ge=1, le=1000)]


class TargetShape(Shape):
    change: Literal["target"]
    target: Annotated[float, Field(gt=0, lt=1)]


ChangeAsked = Annotated[
    MoveShootDayShape | AddShootDayShape | ReshootShape | LoseCopiesShape | TargetShape,
    Field(discriminator="change"),
]


class WhatIf(Shape):
    """Changes to try out, one after another."""

    changes: Annotated[list[ChangeAsked], Field(min_length=1, max_length=50)]


class WhatIfAnswer(Shape):
    """The cover as it stands and as it would be; ``words`` is one sentence for each change."""

    answer: Literal["what_if"] = "what_if"
    today: list[ApplianceCoverShape]
    then: list[ApplianceCoverShape]
    words: list[str]


class CsvText(Shape):
    text: Annotated[str, Field(max_length=2_000_000)]


class CsvConfirmation(CsvText):
    digest: Annotated[str, Field(max_length=64)]


class CsvLine(Shape):
    line: int
    words: str


class CsvUnreadable(Shape):
    line: int
    reason: str
    text: str


class CsvPreview(Shape):
    answer: Literal["csv_preview"] = "csv_preview"
    digest: str
    added: list[CsvLine]
    changed: list[CsvLine]
    unchanged: int
    unreadable: list[CsvUnreadable]


class CsvConfirmed(Shape):
    answer: Literal["csv_confirmed"] = "csv_confirmed"
    added: int
    changed: int
