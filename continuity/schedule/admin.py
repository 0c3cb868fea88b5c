"""The production, its story and its shooting schedule in the admin, to look at."""

from __future__ import annotations

from django.contrib import admin

from continuity.schedule.models import (
    Call,
    Character,
    Look,
    PlannedScene,
    Production,
    Scene,
    SceneWorn,
    ShootDay,
    Unit,
)
from continuity.sync.read_only_admin import ReadOnlyAdmin, ReadOnlyInline


@admin.register(Production)
class ProductionAdmin(ReadOnlyAdmin):
    list_display = ("name", "time_zone", "cover_target", "last_seq")
    search_fields = ("name",)


@admin.register(Unit)
class UnitAdmin(ReadOnlyAdmin):
    list_display = ("name", "withdrawn", "production")
    list_filter = ("production", "withdrawn")
    search_fields = ("name",)


@admin.register(Character)
class CharacterAdmin(ReadOnlyAdmin):
    list_display = ("name", "performer", "withdrawn", "production")
    list_filter = ("production", "withdrawn")
    list_select_related = ("performer", "production")
    search_fields = ("name", "performer__name")


@admin.register(Look)
class LookAdmin(ReadOnlyAdmin):
    list_display = ("name", "character", "progression", "position", "chair_minutes", "withdrawn")
    list_filter = ("production", "character", "withdrawn")
    list_select_related = ("character",)
    search_fields = ("name", "progression", "character__name")
    ordering = ("character__name", "progression", "position")


class SceneWornInline(ReadOnlyInline):
    model = SceneWorn


@admin.register(Scene)
class SceneAdmin(ReadOnlyAdmin):
    list_display = (
        "number", "story_day", "interior_exterior", "day_night", "page_eighths", "synopsis", "withdrawn",
    )  # fmt: skip
    list_filter = ("production", "story_day", "interior_exterior", "day_night", "withdrawn")
    search_fields = ("number", "synopsis")
    ordering = ("story_day", "position")
    inlines = (SceneWornInline,)


class PlannedSceneInline(ReadOnlyInline):
    model = PlannedScene


class CallInline(ReadOnlyInline):
    model = Call


@admin.register(ShootDay)
class ShootDayAdmin(ReadOnlyAdmin):
    list_display = ("date", "unit", "crew_call", "wrap", "withdrawn")
    list_filter = ("production", "unit", "withdrawn")
    list_select_related = ("unit",)
    search_fields = ("unit__name", "planned_scenes__scene__number")
    date_hierarchy = "date"
    ordering = ("date",)
    inlines = (PlannedSceneInline, CallInline)
