"""Appliances, moulds, cast runs, copies and materials in the admin, to look at."""

from __future__ import annotations

from django.contrib import admin

from continuity.stock.models import Appliance, CastRun, Copy, CopyChange, Material, Mould
from continuity.sync.read_only_admin import ReadOnlyAdmin, ReadOnlyInline


@admin.register(Appliance)
class ApplianceAdmin(ReadOnlyAdmin):
    list_display = ("name", "performer", "grade", "encapsulator", "edge_solvent", "withdrawn")
    list_filter = ("production", "grade", "encapsulator", "withdrawn")
    list_select_related = ("performer",)
    search_fields = ("name", "performer__name")


@admin.register(Mould)
class MouldAdmin(ReadOnlyAdmin):
    list_display = ("name", "cavities", "cycles_per_day", "cycle_minutes", "withdrawn")
    list_filter = ("production", "withdrawn")
    search_fields = ("name", "appliances__name")


@admin.register(CastRun)
class CastRunAdmin(ReadOnlyAdmin):
    list_display = ("cast_on", "due_on", "mould", "appliance", "copies_planned", "good", "withdrawn")
    list_filter = ("production", "appliance", "mould", "withdrawn")
    list_select_related = ("mould", "appliance")
    search_fields = ("mould__name", "appliance__name")
    date_hierarchy = "cast_on"
    ordering = ("-cast_on",)


class CopyChangeInline(ReadOnlyInline):
    model = CopyChange
    fields = ("happened_at", "from_state", "to_state", "by", "received_at")
    ordering = ("happened_at",)


@admin.register(Copy)
class CopyAdmin(ReadOnlyAdmin):
    list_display = (
        "serial", "appliance", "grade", "state", "use_by", "expected_on", "set_aside_for", "withdrawn",
    )  # fmt: skip
    list_filter = ("production", "state", "grade", "appliance", "withdrawn")
    list_select_related = ("appliance", "set_aside_for")
    search_fields = ("serial", "appliance__name")
    ordering = ("serial",)
    inlines = (CopyChangeInline,)


@admin.register(CopyChange)
class CopyChangeAdmin(ReadOnlyAdmin):
    list_display = ("happened_at", "copy", "from_state", "to_state", "by")
    list_filter = ("to_state", "copy__appliance")
    list_select_related = ("copy", "by__user")
    search_fields = ("copy__serial",)
    date_hierarchy = "happened_at"
    ordering = ("-happened_at",)


@admin.register(Material)
class MaterialAdmin(ReadOnlyAdmin):
    list_display = ("name", "use", "lot", "expires_on", "withdrawn")
    list_filter = ("production", "use", "withdrawn")
    search_fields = ("name", "lot")
    ordering = ("use", "name")
