"""Where orders are sent to, what could not be delivered, and the calendar."""

from __future__ import annotations

import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, Max, Min, Q, QuerySet
from django.utils import timezone

from continuity.deliveries import push
from continuity.deliveries.calendar import CalendarOrder, calendar_of
from continuity.deliveries.models import CalendarAddress, DeliveryState, Destination, Outgoing
from continuity.deliveries.sender import PUSH_KEY
from continuity.people.models import Membership
from continuity.shop.documents import OPEN, OrderDocument, OrderState
from continuity.shop.models import Order
from continuity.sync.models import Entry, Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.selectors import document_of

CALLED_OFF_SHOWN = datetime.timedelta(days=60)
"""An order that was called off stays in the calendar, as cancelled, until every calendar has looked."""


def destinations(production_id: UUID) -> QuerySet[Destination]:
    """Those in use, with ``waiting`` and ``given_up`` messages and when one was last ``delivered``."""
    return (
        Destination.objects.filter(production_id=production_id, active=True)
        .select_related("whose__user")
        .annotate(
            waiting=Count("outgoing", filter=Q(outgoing__state=DeliveryState.WAITING)),
            given_up=Count("outgoing", filter=Q(outgoing__state=DeliveryState.GIVEN_UP)),
            delivered=Max("outgoing__delivered_at"),
        )
        .order_by("sort", "made_at")
    )


def not_delivered(production_id: UUID) -> QuerySet[Outgoing]:
    """What was tried in vain and has not been delivered since, the oldest first."""
    return (
        Outgoing.objects.filter(destination__production_id=production_id, destination__active=True)
        .filter(Q(state=DeliveryState.GIVEN_UP) | (Q(state=DeliveryState.WAITING) & ~Q(last_error="")))
        .select_related("destination__whose__user", "order__appliance")
        .order_by("written_at", "id")
    )


def subscriptions_of(member: Membership) -> list[str]:
    """The endpoints of a member's phones."""
    found = Destination.objects.filter(whose=member, active=True).order_by("made_at")
    return list(found.values_list("address", flat=True))


def push_public_key() -> str:
    """What a phone subscribes with."""
    return push.public_key_of(push.own_key(settings.DATA_DIR / PUSH_KEY))


def calendar_at(secret: str) -> bytes:
    """The calendar at a secret address. Raises `Refusal` (not_found)."""
    address = CalendarAddress.objects.select_related("production").filter(secret=secret).first()
    if address is None:
        raise Refusal(Code.not_found, "There is no such calendar.")
    production = address.production
    called_off = Q(state=OrderState.CALLED_OFF, id__in=_called_off_lately(production.id))
    orders = {
        order.id: order
        for order in Order.objects.filter(
            Q(state__in=OPEN) | called_off, production=production
        ).select_related("appliance__performer")
    }
    records = Record.objects.filter(id__in=orders).select_related("revision").order_by("id")
    written = {
        record: (changes, first)
        for record, changes, first in Entry.objects.filter(record__in=orders, state="applied")
        .values_list("record")
        .annotate(Count("id"), Min("received_at"))
    }
    zone = ZoneInfo(production.time_zone)
    return calendar_of(
        production.name,
        production.time_zone,
        [_calendar_order(orders[record.id], record, written[record.id], zone) for record in records],
    )


def _called_off_lately(production_id: UUID) -> QuerySet[Record, UUID]:
    since = timezone.now() - CALLED_OFF_SHOWN
    return Record.objects.filter(
        production_id=production_id, kind="order", revision__received_at__gte=since
    ).values_list("id", flat=True)


def _calendar_order(
    order: Order, record: Record, written: tuple[int, datetime.datetime], zone: ZoneInfo
) -> CalendarOrder:
    document = document_of(record, OrderDocument)
    if record.withdrawn:
        document = document.model_copy(update={"state": OrderState.CALLED_OFF})
    performer = order.appliance.performer
    changes, raised_at = written
    return CalendarOrder(
        id=order.id,
        document=document,
        appliance=order.appliance.name,
        performer=performer.name if performer else None,
        changes=changes - 1,
        changed_at=record.revision.received_at,
        raised_on=raised_at.astimezone(zone).date(),
        link=f"{settings.APP_ADDRESS}/#/shop/{order.id}" if settings.APP_ADDRESS else None,
    )
