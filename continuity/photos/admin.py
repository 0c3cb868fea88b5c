"""Photos and their files in the admin, to look up which have come. The pictures themselves are in the app."""

from __future__ import annotations

from django.contrib import admin

from continuity.photos.models import Photo, PhotoFile
from continuity.sync.read_only_admin import ReadOnlyAdmin


@admin.register(PhotoFile)
class PhotoFileAdmin(ReadOnlyAdmin):
    list_display = ("sha256", "state", "renditions", "size", "received", "width", "height", "stored_at")
    list_filter = ("production", "state", "renditions", "media_type")
    search_fields = ("sha256", "reason")
    ordering = ("-id",)


@admin.register(Photo)
class PhotoAdmin(ReadOnlyAdmin):
    list_display = ("taken_at", "application", "angle", "moment", "scene", "story_day", "file")
    list_filter = ("angle", "moment", "story_day")
    list_select_related = ("application__look", "scene", "file")
    search_fields = ("application__performer__name", "scene__number", "file__sha256")
    date_hierarchy = "taken_at"
    ordering = ("-taken_at",)
