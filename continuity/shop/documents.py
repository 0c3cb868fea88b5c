"""What is written of an order: copies the shop is asked to make."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated
from uuid import UUID

from pydantic import Field

from continuity.sync.document import Day, Document, Line, Note, Reference

Chance = Annotated[float, Field(ge=0, le=1)]


class OrderState(StrEnum):
    """Where an order stands. While it is asked for, it grows and shrinks with the cover; the shop takes it
    on, and then it stands as it is until it is made or called off."""

    ASKED_FOR = "asked_for"
    TAKEN_ON = "taken_on"
    MADE = "made"
    CALLED_OFF = "called_off"


OPEN = frozenset({OrderState.ASKED_FOR, OrderState.TAKEN_ON})


class OrderDocument(Document):
    """Made by the server when an appliance's cover falls under its target; a person writes ``state`` and
    ``note``.

    ``copies`` are good copies, ``pours`` the pours that give them with the production's pour confidence.
    ``needed_on`` is the first day at risk without the order. ``latest_start`` is the last day to start,
    absent when every day counts. ``possible`` says whether the cover can reach its target in time;
    ``best_p_covered`` is the best it can reach, and ``still_short`` the first day at risk with that.
    ``why`` is one sentence. Chances are from 0 to 1.
    """

    appliance: UUID
    mould: UUID
    copies: Annotated[int, Field(ge=1, le=100_000)]
    pours: Annotated[int, Field(ge=1, le=1_000_000)]
    needed_on: Day
    latest_start: Day | None = None
    possible: bool
    p_covered_now: Chance
    best_p_covered: Chance
    still_short: Day | None = None
    why: Line
    state: OrderState = OrderState.ASKED_FOR
    note: Note | None = None

    def references(self) -> Iterator[Reference]:
        yield "appliance", self.appliance
        yield "mould", self.mould
