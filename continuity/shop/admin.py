"""Orders in the admin, to look at."""

from __future__ import annotations

from django.contrib import admin

from continuity.shop.models import Order
from continuity.sync.read_only_admin import ReadOnlyAdmin


@admin.register(Order)
class OrderAdmin(ReadOnlyAdmin):
    list_display = (
        "appliance", "copies", "pours", "latest_start", "needed_on", "possible", "state", "production",
    )  # fmt: skip
    list_filter = ("production", "state", "appliance", "mould")
    list_select_related = ("appliance", "production")
    search_fields = ("appliance__name", "mould__name")
    ordering = ("latest_start", "needed_on")
