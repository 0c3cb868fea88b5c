"""The base of every record's document: what a phone writes and every other phone reads.

A document is plain JSON. A field that is absent has its default; ``null`` never stands in a stored
document, because a JSON Merge Patch (RFC 7396) uses ``null`` to remove a member. Lists whose items are
edited one by one (touch-ups, breaks, photos, copies) are objects keyed by an id the phone mints, so
that two people adding an item at the same time do not collide.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints


def _plausible_moment(value: datetime.datetime) -> datetime.datetime:
    _plausible_day(value.date())
    return value


def _plausible_day(value: datetime.date) -> datetime.date:
    # Further out, adding a shelf life or turning to UTC would leave the calendar.
    if not 1950 <= value.year <= 2150:
        raise ValueError("is not between the years 1950 and 2150")
    return value


Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=500)]
Note = Annotated[str, StringConstraints(max_length=5000)]
ClockTime = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Moment = Annotated[AwareDatetime, AfterValidator(_plausible_moment)]
Day = Annotated[datetime.date, AfterValidator(_plausible_day)]

Reference = tuple[str, UUID]


class Part(BaseModel):
    """A piece of a document. Unknown members are refused: ignoring them would lose what was written."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Document(Part):
    """A whole record. ``health_fields`` are shown only to those who apply and to the department head. Members
    that stand ``together`` are taken over from a stale edit together or not at all."""

    health_fields: ClassVar[frozenset[str]] = frozenset()
    together: ClassVar[tuple[frozenset[str], ...]] = ()

    def references(self) -> Iterator[Reference]:
        """Every (kind, record id) this document points to, so that each can be found in its production."""
        return iter(())

    @classmethod
    def without_health(cls, document: dict[str, Any]) -> dict[str, Any]:
        """A document as those see it who neither apply nor head the department."""
        return {name: value for name, value in document.items() if name not in cls.health_fields}

    def to_json(self) -> dict[str, Any]:
        """The document as plain JSON, absent members left out."""
        return self.model_dump(mode="json", exclude_none=True)


def items(maximum: int) -> Any:
    """The bound on a list or an object keyed by ids."""
    return Field(default_factory=dict, max_length=maximum)
