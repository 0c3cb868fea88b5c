"""What is written of orders, which are copies the shop is asked to make, and of the parcels they come in."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Any
from uuid import UUID

from pydantic import BeforeValidator, Field

from continuity.stock.grade import Grade
from continuity.sync.document import Day, Document, Line, Moment, Note, Part, Reference, items

Chance = Annotated[float, Field(ge=0, le=1)]


class OrderState(StrEnum):
    """Where an order stands. While it is asked for, it grows and shrinks with the cover. Once the shop has
    taken it on it stands, and a change is a question to the shop. What is sent counts with the supply."""

    ASKED_FOR = "asked_for"
    TAKEN_ON = "taken_on"
    CASTING = "casting"
    SENT = "sent"
    ARRIVED = "arrived"
    CALLED_OFF = "called_off"


OPEN = frozenset({OrderState.ASKED_FOR, OrderState.TAKEN_ON, OrderState.CASTING})
"""The shop has still to make something."""

UNDER_WAY = frozenset({OrderState.TAKEN_ON, OrderState.CASTING})
"""The shop has taken it on: nobody changes it over the shop's head."""


class RaisedBy(StrEnum):
    """Whether the cover calculation asked for it, or a person."""

    COVER = "cover"
    HAND = "hand"


class Answer(StrEnum):
    """What the shop says to a question."""

    AGREED = "agreed"
    DECLINED = "declined"


def _state_of_an_older_phone(value: Any) -> Any:
    # A phone that has been away since before orders were followed to set says "made" when the shop is done.
    return OrderState.SENT if value == "made" else value


class OrderQuestion(Part):
    """What is asked of the shop after it has taken an order on: so many ``copies`` in all (0: is it to be
    called off?), in ``pours``, needed on set on ``needed_on``, to be started by ``latest_start``."""

    copies: Annotated[int, Field(ge=0, le=100_000)]
    pours: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    needed_on: Day
    latest_start: Day | None = None
    why: Line
    asked_at: Moment


class OrderDocument(Document):
    """Raised by the server when an appliance's cover falls under its target, or by hand.

    ``copies`` are good copies of ``grade`` or better, ``pours`` the pours that give them with the
    production's pour confidence. ``needed_on`` is the day they are needed on set: for the cover the first day
    at risk without the order. ``latest_start`` is the last day to start, absent when every day counts.
    ``possible`` says whether the cover can reach its target in time; ``best_p_covered`` is the best it can
    reach, and ``still_short`` the first day at risk with that. ``why`` is one sentence. Chances are from 0 to
    1. ``expected_on`` is the day the shop expects them on set. A ``question`` is a change asked of the shop
    that has taken the order on; ``answer`` is the shop's to the question that stands. Agreed, its numbers
    are brought into the order and the question goes; declined, both stay.
    """

    appliance: UUID
    raised_by: RaisedBy = RaisedBy.COVER
    grade: Grade | None = None
    mould: UUID | None = None
    copies: Annotated[int, Field(ge=1, le=100_000)]
    pours: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    needed_on: Day
    latest_start: Day | None = None
    possible: bool | None = None
    p_covered_now: Chance | None = None
    best_p_covered: Chance | None = None
    still_short: Day | None = None
    why: Line
    state: Annotated[OrderState, BeforeValidator(_state_of_an_older_phone)] = OrderState.ASKED_FOR
    expected_on: Day | None = None
    question: OrderQuestion | None = None
    answer: Answer | None = None
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "appliance", self.appliance
        if self.mould:
            yield "mould", self.mould


class Arrived(StrEnum):
    """What became of one copy in a parcel."""

    ARRIVED = "arrived"
    MISSING = "missing"
    DAMAGED = "damaged"


class ParcelCopy(Part):
    """One copy in a parcel. ``arrived`` is absent until it is looked for on set."""

    arrived: Arrived | None = None
    note: Note | None = None


class ParcelDocument(Document):
    """Copies on their way from the shop to set, keyed by the copy: this is the packing list. ``by`` is how
    it travels. What became of the copies themselves is written in their own records beside it."""

    order: UUID | None = None
    copies: dict[UUID, ParcelCopy] = items(500)
    packed_on: Day
    sent_at: Moment | None = None
    expected_on: Day | None = None
    by: Line | None = None
    received_at: Moment | None = None
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        if self.order:
            yield "order", self.order
        for copy in self.copies:
            yield "copy", copy
