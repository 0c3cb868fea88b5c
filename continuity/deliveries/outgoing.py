"""Writing down, with an order, what is to be sent of it."""

from __future__ import annotations

from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Max, Q
from django.utils import timezone

from continuity.deliveries.message import Names, is_told, payload_of
from continuity.deliveries.models import Destination, Outgoing
from continuity.shop.documents import OrderDocument
from continuity.stock.models import Appliance, Mould
from continuity.sync.models import Entry


def put_out(
    production_id: UUID,
    order_id: UUID,
    entry: Entry,
    before: OrderDocument | None,
    after: OrderDocument,
    *,
    taken_back: bool = False,
    by_cover: bool = False,
) -> None:
    """Write a message to each destination, in the transaction in which the order is written.

    The production's row is locked by whoever writes an order, so the sequence has no gap and no double.
    """
    if not is_told(before, after, taken_back=taken_back):
        return
    destinations = list(
        Destination.objects.filter(
            Q(whose=None) | Q(whose__active=True), production=production_id, active=True
        )
    )
    if not destinations:
        return
    names = _names(order_id, entry, after, by_cover)
    last = dict(
        Outgoing.objects.filter(order=order_id, destination__in=destinations)
        .values_list("destination")
        .annotate(Max("sequence"))
    )
    now = timezone.now()
    messages = []
    for destination in destinations:
        sequence = last.get(destination.id, 0) + 1
        payload = payload_of(
            str(order_id),
            str(entry.id),
            sequence,
            entry.received_at,
            before,
            after,
            names,
            taken_back=taken_back,
        )
        messages.append(
            Outgoing(
                destination=destination,
                order_id=order_id,
                revision=entry.id,
                sequence=sequence,
                payload=payload,
                since=now,
                next_at=now,
            )
        )
    Outgoing.objects.bulk_create(messages)


def _names(order_id: UUID, entry: Entry, order: OrderDocument, by_cover: bool) -> Names:
    appliance = Appliance.objects.select_related("performer", "production").get(id=order.appliance)
    mould = Mould.objects.get(id=order.mould).name if order.mould else None
    member = entry.sent_by
    return Names(
        production=appliance.production.name,
        appliance=appliance.name,
        performer=appliance.performer.name if appliance.performer else None,
        mould=mould,
        by="the cover" if by_cover else member.user.first_name or member.user.username,
        said_at=entry.happened_at.astimezone(ZoneInfo(appliance.production.time_zone)).isoformat(),
        link=f"{settings.APP_ADDRESS}/#/shop/{order_id}" if settings.APP_ADDRESS else None,
    )
