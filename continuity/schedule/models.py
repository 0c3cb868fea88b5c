"""The production, its story and its shooting schedule, as tables."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from uuid6 import uuid7

from continuity.sync.base import ProductionRecord


def only_sunday() -> list[str]:
    """The shop's weekdays off while nobody has said otherwise."""
    return ["sunday"]


class Production(models.Model):
    """The show. ``last_seq`` numbers its feed and is only raised while this row is locked.

    ``reconsidered_seq`` is the place in the feed, and ``reconsidered_on`` the date where it is shot, with
    which the orders were last worked out; -1 and None before the first time.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    name = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=60)
    cover_target = models.FloatField()
    prior_good = models.FloatField()
    prior_spoiled = models.FloatField()
    transport_days = models.IntegerField(default=1)
    weekdays_off = models.JSONField(default=only_sunday)
    dates_off = models.JSONField(default=list)
    pour_confidence = models.FloatField(default=0.9)
    yield_prior_good = models.FloatField(default=4.0)
    yield_prior_rejected = models.FloatField(default=1.0)
    colour_not_visible = models.FloatField(default=1.0)
    colour_close = models.FloatField(default=2.0)
    colour_visible = models.FloatField(default=4.0)
    last_seq = models.BigIntegerField(default=0)
    reconsidered_seq = models.BigIntegerField(default=-1)
    reconsidered_on = models.DateField(null=True)

    def __str__(self) -> str:
        return self.name


class Unit(ProductionRecord):
    name = models.CharField(max_length=200)

    def __str__(self) -> str:
        return self.name


class Character(ProductionRecord):
    name = models.CharField(max_length=200)
    performer = models.ForeignKey("people.Performer", null=True, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return self.name


class Look(ProductionRecord):
    """How a character appears at a point of the story; ``position`` orders a progression. ``grades`` is the
    grade it asks for by appliance id, both as text, where that is not the appliance's own."""

    character = models.ForeignKey(Character, on_delete=models.PROTECT, related_name="looks")
    name = models.CharField(max_length=200)
    progression = models.CharField(max_length=500, blank=True)
    position = models.IntegerField()
    appliances = models.ManyToManyField("stock.Appliance", related_name="looks")
    grades = models.JSONField(default=dict)
    chair_minutes = models.IntegerField(null=True)
    established = models.ForeignKey(
        "applications.Application", null=True, on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return self.name


class Scene(ProductionRecord):
    number = models.CharField(max_length=20)
    story_day = models.IntegerField(null=True)
    position = models.IntegerField()
    interior_exterior = models.CharField(max_length=10, blank=True)
    day_night = models.CharField(max_length=10, blank=True)
    page_eighths = models.IntegerField()
    synopsis = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["production", "number"], condition=Q(withdrawn=False), name="scene_number_once"
            )
        ]

    def __str__(self) -> str:
        return f"Scene {self.number}"


class SceneWorn(models.Model):
    """One person in a scene: the character, the look, and who wears it (None: the character's performer)."""

    scene = models.ForeignKey(Scene, on_delete=models.CASCADE, related_name="worn")
    character = models.ForeignKey(Character, on_delete=models.PROTECT)
    look = models.ForeignKey(Look, null=True, on_delete=models.PROTECT)
    performer = models.ForeignKey("people.Performer", null=True, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return f"{self.character} in {self.scene}"


class ShootDay(ProductionRecord):
    """A date with a unit. ``crew_call`` and ``wrap`` are local; a wrap before the call is next morning's."""

    date = models.DateField()
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="shoot_days")
    crew_call = models.TimeField()
    wrap = models.TimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["production", "unit", "date"],
                condition=Q(withdrawn=False),
                name="shoot_day_once_a_unit",
            )
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.unit}"


class PlannedScene(models.Model):
    """A scene in a shoot day's order; ``taken_off_after`` lists performer ids, as text."""

    shoot_day = models.ForeignKey(ShootDay, on_delete=models.CASCADE, related_name="planned_scenes")
    scene = models.ForeignKey(Scene, on_delete=models.PROTECT, related_name="planned")
    position = models.IntegerField()
    minutes = models.IntegerField(null=True)
    taken_off_after = models.JSONField(default=list)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["shoot_day", "position"], name="planned_scene_one_a_position")
        ]

    def __str__(self) -> str:
        return f"{self.scene} on {self.shoot_day}"


class Call(models.Model):
    """When a performer must arrive, local time."""

    shoot_day = models.ForeignKey(ShootDay, on_delete=models.CASCADE, related_name="calls")
    performer = models.ForeignKey("people.Performer", on_delete=models.PROTECT)
    time = models.TimeField()

    def __str__(self) -> str:
        return f"{self.performer} {self.time:%H:%M}"
