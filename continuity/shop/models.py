"""Orders and parcels, as tables."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from continuity.shop.documents import OPEN, OrderState, RaisedBy
from continuity.sync.base import ProductionRecord


class Order(ProductionRecord):
    """Copies the shop is asked to make. Of those the cover raised, one stands open for an appliance."""

    appliance = models.ForeignKey("stock.Appliance", on_delete=models.PROTECT, related_name="orders")
    mould = models.ForeignKey("stock.Mould", null=True, on_delete=models.PROTECT, related_name="orders")
    raised_by = models.CharField(max_length=5, default=RaisedBy.COVER.value)
    copies = models.IntegerField()
    pours = models.IntegerField(null=True)
    needed_on = models.DateField()
    latest_start = models.DateField(null=True)
    possible = models.BooleanField(null=True)
    state = models.CharField(max_length=10)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["appliance"],
                condition=Q(
                    state__in=sorted(state.value for state in OPEN),
                    raised_by=RaisedBy.COVER.value,
                    withdrawn=False,
                ),
                name="one_open_cover_order_an_appliance",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in OrderState]), name="order_state_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.copies} of {self.appliance}"


class Parcel(ProductionRecord):
    """Copies on their way to set. Its packing list is the rows of `ParcelCopy`."""

    order = models.ForeignKey(Order, null=True, on_delete=models.PROTECT, related_name="parcels")
    packed_on = models.DateField()
    sent_at = models.DateTimeField(null=True)
    expected_on = models.DateField(null=True)
    received_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"Parcel of {self.packed_on}"


class ParcelCopy(models.Model):
    """A copy in a parcel. It is in one parcel at a time that is not received yet."""

    parcel = models.ForeignKey(Parcel, on_delete=models.CASCADE, related_name="copies")
    copy = models.ForeignKey("stock.Copy", on_delete=models.PROTECT, related_name="parcels")
    arrived = models.CharField(max_length=10, blank=True)
    on_its_way = models.BooleanField()

    class Meta:
        verbose_name_plural = "parcel copies"
        constraints = [
            models.UniqueConstraint(fields=["parcel", "copy"], name="a_copy_once_in_a_parcel"),
            models.UniqueConstraint(
                fields=["copy"], condition=Q(on_its_way=True), name="one_open_parcel_a_copy"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.copy} in {self.parcel}"
