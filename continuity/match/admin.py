"""Verdicts, guides and measurements in the admin, to look at."""

from __future__ import annotations

from django.contrib import admin

from continuity.match.models import ColourMeasurement, PhotoGuide, Verdict
from continuity.sync.read_only_admin import ReadOnlyAdmin


@admin.register(Verdict)
class VerdictAdmin(ReadOnlyAdmin):
    list_display = ("application", "verdict", "against", "production", "withdrawn")
    list_filter = ("production", "verdict", "withdrawn")
    list_select_related = ("application__look", "against__look", "production")
    search_fields = ("application__performer__name", "application__look__name")
    ordering = ("-id",)


@admin.register(PhotoGuide)
class PhotoGuideAdmin(ReadOnlyAdmin):
    list_display = ("sha256", "production", "withdrawn")
    list_filter = ("production", "withdrawn")
    list_select_related = ("production",)
    search_fields = ("sha256",)
    ordering = ("-id",)


@admin.register(ColourMeasurement)
class ColourMeasurementAdmin(ReadOnlyAdmin):
    list_display = ("look", "state", "then_application", "now_application", "production", "withdrawn")
    list_filter = ("production", "state", "withdrawn")
    list_select_related = ("look", "then_application__look", "now_application__look", "production")
    search_fields = ("look__name", "then_sha256", "now_sha256")
    ordering = ("-id",)
