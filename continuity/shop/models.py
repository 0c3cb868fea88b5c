"""Orders, as a table."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from continuity.shop.documents import OPEN, OrderState
from continuity.sync.base import ProductionRecord


class Order(ProductionRecord):
    """Copies the shop is asked to make. One stands open for an appliance at a time."""

    appliance = models.ForeignKey("stock.Appliance", on_delete=models.PROTECT, related_name="orders")
    mould = models.ForeignKey("stock.Mould", on_delete=models.PROTECT, related_name="orders")
    copies = models.IntegerField()
    pours = models.IntegerField()
    needed_on = models.DateField()
    latest_start = models.DateField(null=True)
    possible = models.BooleanField()
    state = models.CharField(max_length=10)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["appliance"],
                condition=Q(state__in=sorted(state.value for state in OPEN), withdrawn=False),
                name="one_open_order_an_appliance",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in OrderState]), name="order_state_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.copies} of {self.appliance}"
