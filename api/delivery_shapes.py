"""The shapes of deliveries: where orders go to, what could not be delivered, the calendar."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import Field, StringConstraints

from api.shapes import Shape
from continuity.deliveries.models import DeliveryState, Destination, DestinationSort, Outgoing

Address = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=1000)]


class NewDestination(Shape):
    """A mail address or a webhook. ``secret`` is for a webhook that has one already."""

    sort: DestinationSort
    address: Address
    secret: Annotated[str, Field(max_length=100)] | None = None


class DestinationShape(Shape):
    """``waiting`` and ``given_up`` are numbers of messages; ``whose`` is the crew member with the phone."""

    id: UUID
    sort: DestinationSort
    address: str
    secret: str | None
    whose: UUID | None
    waiting: int
    given_up: int
    delivered_at: datetime.datetime | None


class DestinationsAnswer(Shape):
    """``mail_is_set_up`` says whether the operator has named a mail server."""

    answer: Literal["destinations"] = "destinations"
    mail_is_set_up: bool
    destinations: list[DestinationShape]


class DeliveryShape(Shape):
    """A message that was tried and has not been delivered. ``words`` say what it is about, ``last_error``
    what is wrong."""

    id: UUID
    order: UUID
    appliance: UUID
    words: str
    sort: DestinationSort
    address: str
    state: DeliveryState
    attempts: int
    written_at: datetime.datetime
    next_at: datetime.datetime | None
    last_error: str


class DeliveriesAnswer(Shape):
    answer: Literal["deliveries"] = "deliveries"
    deliveries: list[DeliveryShape]


class DeliveryAnswer(Shape):
    answer: Literal["delivery"] = "delivery"
    delivery: DeliveryShape


class PushKeys(Shape):
    p256dh: Annotated[str, Field(max_length=100)]
    auth: Annotated[str, Field(max_length=50)]


class PushSubscription(Shape):
    """As the browser gives it."""

    endpoint: Address
    expirationTime: float | None = None  # noqa: N815 - the browser's name
    keys: PushKeys


class PushEnd(Shape):
    endpoint: Address


class PushAnswer(Shape):
    """``public_key`` is what a phone subscribes with; ``endpoints`` are the member's own that are told."""

    answer: Literal["push"] = "push"
    public_key: str
    endpoints: list[str]


class CalendarAnswer(Shape):
    """``path`` is to be put behind the app's own address."""

    answer: Literal["calendar"] = "calendar"
    path: str


def destination_shape(found: Destination) -> dict[str, Any]:
    """A destination of `continuity.deliveries.selectors.destinations`."""
    return {
        "id": found.id,
        "sort": found.sort,
        # The address of a phone's push service is as good as a key to that phone.
        "address": "" if found.whose_id else found.address,
        "secret": found.secret or None,
        "whose": found.whose_id,
        "waiting": getattr(found, "waiting", 0),
        "given_up": getattr(found, "given_up", 0),
        "delivered_at": getattr(found, "delivered", None),
    }


def delivery_shape(found: Outgoing, words: str) -> dict[str, Any]:
    return {
        "id": found.id,
        "order": found.order_id,
        "appliance": found.order.appliance_id,
        "words": words,
        "sort": found.destination.sort,
        "address": _told_address(found.destination),
        "state": found.state,
        "attempts": found.attempts,
        "written_at": found.written_at,
        "next_at": found.next_at if found.state == DeliveryState.WAITING else None,
        "last_error": found.last_error,
    }


def _told_address(destination: Destination) -> str:
    if destination.whose is None:
        return destination.address
    user = destination.whose.user
    return f"The phone of {user.first_name or user.username}"
