"""Applications and paint recipes in the admin, to look at. The whole sheet is in the app."""

from __future__ import annotations

from django.contrib import admin

from continuity.applications.models import Application, CopyUse, Recipe
from continuity.photos.models import Photo
from continuity.sync.read_only_admin import ReadOnlyAdmin, ReadOnlyInline


@admin.register(Recipe)
class RecipeAdmin(ReadOnlyAdmin):
    list_display = ("name", "version", "look", "previous", "withdrawn")
    list_filter = ("production", "withdrawn")
    list_select_related = ("look", "previous")
    search_fields = ("name", "look__name")
    ordering = ("name", "version")


class CopyUseInline(ReadOnlyInline):
    model = CopyUse


class PhotoInline(ReadOnlyInline):
    model = Photo


@admin.register(Application)
class ApplicationAdmin(ReadOnlyAdmin):
    list_display = ("date", "performer", "look", "artist", "started_at", "removed_at", "withdrawn")
    list_filter = ("production", "performer", "artist", "look", "withdrawn")
    list_select_related = ("performer", "look", "artist__user")
    search_fields = ("performer__name", "look__name", "copies__copy_used__serial", "scenes__number")
    date_hierarchy = "date"
    ordering = ("-date", "-started_at")
    inlines = (CopyUseInline, PhotoInline)


@admin.register(CopyUse)
class CopyUseAdmin(ReadOnlyAdmin):
    list_display = ("copy_used", "outcome", "why", "application", "doubled", "withdrawn")
    list_filter = ("outcome", "doubled", "withdrawn", "copy_used__appliance")
    list_select_related = ("copy_used", "application__look")
    search_fields = ("copy_used__serial", "why")
