"""Orders and parcels in the admin, to look at."""

from __future__ import annotations

from django.contrib import admin

from continuity.shop.models import Order, Parcel, ParcelCopy
from continuity.sync.read_only_admin import ReadOnlyAdmin, ReadOnlyInline


@admin.register(Order)
class OrderAdmin(ReadOnlyAdmin):
    list_display = (
        "appliance", "raised_by", "copies", "pours", "latest_start", "needed_on", "possible", "state",
        "production",
    )  # fmt: skip
    list_filter = ("production", "state", "raised_by", "appliance", "mould")
    list_select_related = ("appliance", "production")
    search_fields = ("appliance__name", "mould__name")
    ordering = ("latest_start", "needed_on")


class ParcelCopyInline(ReadOnlyInline):
    model = ParcelCopy


@admin.register(Parcel)
class ParcelAdmin(ReadOnlyAdmin):
    list_display = ("packed_on", "order", "sent_at", "expected_on", "received_at", "withdrawn", "production")
    list_filter = ("production", "packed_on", "received_at")
    list_select_related = ("order__appliance", "production")
    search_fields = ("order__appliance__name", "copies__copy__serial")
    ordering = ("-packed_on",)
    inlines = (ParcelCopyInline,)
