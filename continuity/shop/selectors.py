"""Orders that stand."""

from __future__ import annotations

from uuid import UUID

from continuity.shop.documents import OPEN, UNDER_WAY, RaisedBy
from continuity.shop.models import Order


def open_orders(production_id: UUID) -> dict[str, UUID]:
    """The open order that the cover raised for each appliance that has one, by the appliance's id as text."""
    orders = Order.objects.filter(
        production_id=production_id, withdrawn=False, state__in=OPEN, raised_by=RaisedBy.COVER
    )
    return {str(appliance): order for appliance, order in orders.values_list("appliance_id", "id")}


def orders_taken_on(production_id: UUID) -> dict[str, Order]:
    """The order the cover raised for each appliance that the shop has under way, by the appliance's id as
    text."""
    orders = Order.objects.filter(
        production_id=production_id, withdrawn=False, state__in=UNDER_WAY, raised_by=RaisedBy.COVER
    )
    return {str(order.appliance_id): order for order in orders}
