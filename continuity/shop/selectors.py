"""Orders that stand."""

from __future__ import annotations

from uuid import UUID

from continuity.shop.documents import OPEN, OrderState
from continuity.shop.models import Order


def open_orders(production_id: UUID) -> dict[str, UUID]:
    """The order that stands open for each appliance that has one, by the appliance's id as text."""
    orders = Order.objects.filter(production_id=production_id, withdrawn=False, state__in=OPEN)
    return {str(appliance): order for appliance, order in orders.values_list("appliance_id", "id")}


def orders_taken_on(production_id: UUID) -> dict[str, Order]:
    """The order of each appliance that the shop has taken on, by the appliance's id as text."""
    orders = Order.objects.filter(
        production_id=production_id, withdrawn=False, state=OrderState.TAKEN_ON.value
    )
    return {str(order.appliance_id): order for order in orders}
