"""The orders of a production as a calendar (RFC 5545): each that is open is an event of a whole
day, the last on which the shop can start; of one asked for by hand without such a day, the day it is needed.

It is an event and not a task, because a calendar that is subscribed to shows events everywhere and tasks
hardly anywhere. A whole day has a date and no clock, so it stands on the day meant in the production's zone
whatever zone the calendar is read in, also where clocks change on it.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from icalendar import Calendar, Event, vDuration

from continuity.shop.documents import OrderDocument, OrderState, RaisedBy
from continuity.shop.order_steps import WORDS

REFRESH = datetime.timedelta(hours=1)
"""How often a calendar is asked to look."""

_STATUS = {
    OrderState.ASKED_FOR: "TENTATIVE",
    OrderState.TAKEN_ON: "CONFIRMED",
    OrderState.CASTING: "CONFIRMED",
    OrderState.CALLED_OFF: "CANCELLED",
}


@dataclass(frozen=True)
class CalendarOrder:
    """An order with the names its ids stand for. ``changes`` counts what was written of it since it was
    raised; ``changed_at`` is when it was last written, and ``raised_on`` the day it was raised on in the
    production's zone."""

    id: UUID
    document: OrderDocument
    appliance: str
    performer: str | None
    changes: int
    changed_at: datetime.datetime
    raised_on: datetime.date
    link: str | None


def calendar_of(name: str, zone: str, orders: Iterable[CalendarOrder]) -> bytes:
    """The calendar as text, the same for the same orders. Orders that are sent or have arrived are left out:
    there is nothing left to start."""
    calendar = Calendar()
    calendar.add("prodid", "-//Continuity//Orders for the shop//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", f"Orders: {name}")
    calendar.add("x-wr-calname", f"Orders: {name}")
    calendar.add("x-wr-timezone", zone)
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))
    for order in orders:
        if order.document.state in _STATUS:
            calendar.add_component(_event(order))
    text: bytes = calendar.to_ical()
    return text


def _event(order: CalendarOrder) -> Event:
    document = order.document
    what, start = "Latest start", document.latest_start
    if start is None and document.raised_by is RaisedBy.HAND:
        # Nobody has said when to start it.
        what, start = "Needed on set", document.needed_on
    # Where every day counts, the day to start was the day it was raised.
    start = start or order.raised_on
    grade = f"{document.grade.value} " if document.grade else ""
    performer = f" for {order.performer}" if order.performer else ""
    event = Event()
    event.add("uid", f"{order.id}@continuity")
    event.add("sequence", order.changes)
    event.add("dtstamp", order.changed_at.astimezone(datetime.UTC))
    event.add("last-modified", order.changed_at.astimezone(datetime.UTC))
    event.add("dtstart", start)
    event.add("dtend", start + datetime.timedelta(days=1))
    event.add("summary", f"{what}: {document.copies} {grade}{order.appliance}{performer}")
    event.add("description", _words(document))
    event.add("status", _STATUS[document.state])
    event.add("transp", "TRANSPARENT")
    if order.link:
        event.add("url", order.link)
    return event


def _words(document: OrderDocument) -> str:
    lines = [WORDS[document.state].capitalize()]
    if document.latest_start is None and document.raised_by is RaisedBy.COVER:
        lines.append("Every day counts: start now.")
    if document.pours:
        lines.append(f"Pours: {document.pours}")
    lines.append(
        f"Needed on set: {document.needed_on:%A} {document.needed_on.day} {document.needed_on:%B %Y}"
    )
    lines.append(document.why)
    if document.question:
        lines.append(
            "A question to the shop stands open." if not document.answer else "The shop has declined."
        )
    return "\n".join(lines)
