"""Deliveries in the admin, to look at. Secrets are not shown."""

from __future__ import annotations

from django.contrib import admin

from continuity.deliveries.models import Destination, Outgoing
from continuity.sync.read_only_admin import ReadOnlyAdmin


@admin.register(Destination)
class DestinationAdmin(ReadOnlyAdmin):
    list_display = ("sort", "address", "whose", "active", "production")
    list_filter = ("production", "sort", "active")
    list_select_related = ("production", "whose__user")
    search_fields = ("address",)
    exclude = ("secret", "auth_secret")


@admin.register(Outgoing)
class OutgoingAdmin(ReadOnlyAdmin):
    list_display = (
        "order", "destination", "sequence", "state", "attempts", "next_at", "last_error", "delivered_at",
    )  # fmt: skip
    list_filter = ("destination__production", "state", "destination__sort")
    list_select_related = ("order__appliance", "destination")
    ordering = ("-written_at",)
