"""Entries and records in the admin. They hold health notes, so only a superuser sees them here."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from continuity.sync.models import Entry, Record
from continuity.sync.read_only_admin import ReadOnlyAdmin


class _ForSuperusers(ReadOnlyAdmin):
    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return bool(request.user.is_active and request.user.is_superuser)

    def has_module_permission(self, request: HttpRequest) -> bool:
        return self.has_view_permission(request)


@admin.register(Entry)
class EntryAdmin(_ForSuperusers):
    list_display = ("seq", "kind", "record", "made_by", "happened_at", "received_at", "state", "conflict")
    list_filter = ("production", "kind", "state", "conflict", "made_by")
    list_select_related = ("made_by__user",)
    search_fields = ("id", "record", "made_by__user__username")
    date_hierarchy = "happened_at"
    ordering = ("-seq",)


@admin.register(Record)
class RecordAdmin(_ForSuperusers):
    list_display = ("kind", "id", "seq", "withdrawn", "production")
    list_filter = ("production", "kind", "withdrawn")
    list_select_related = ("production",)
    search_fields = ("id",)
    ordering = ("-seq",)
