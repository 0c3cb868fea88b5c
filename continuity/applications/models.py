"""Applications and paint recipes, as tables. The whole sheet is in the application's record."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from continuity.applications.documents import Outcome
from continuity.sync.base import ProductionRecord


class Recipe(ProductionRecord):
    """A version of a paint recipe; it never changes."""

    name = models.CharField(max_length=200)
    look = models.ForeignKey("schedule.Look", on_delete=models.PROTECT, related_name="recipes")
    version = models.IntegerField()
    previous = models.ForeignKey("self", null=True, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return f"{self.name} {self.version}"


class Application(ProductionRecord):
    """One wearing. ``first_seq`` is its first entry's place in the feed; it orders two that took one copy."""

    performer = models.ForeignKey("people.Performer", on_delete=models.PROTECT, related_name="applications")
    look = models.ForeignKey("schedule.Look", on_delete=models.PROTECT, related_name="applications")
    date = models.DateField()
    artist = models.ForeignKey("people.Membership", on_delete=models.PROTECT)
    recipe = models.ForeignKey(Recipe, null=True, on_delete=models.PROTECT, related_name="applications")
    started_at = models.DateTimeField(null=True)
    ready_at = models.DateTimeField(null=True)
    on_camera_at = models.DateTimeField(null=True)
    removed_at = models.DateTimeField(null=True)
    first_seq = models.BigIntegerField()
    scenes = models.ManyToManyField("schedule.Scene", related_name="applications")

    def __str__(self) -> str:
        return f"{self.date} {self.look}"


class CopyUse(models.Model):
    """A copy taken for an application. ``doubled`` marks each use of it after the first: kept, flagged."""

    application = models.ForeignKey(Application, on_delete=models.CASCADE, related_name="copies")
    item = models.UUIDField()
    copy_used = models.ForeignKey("stock.Copy", on_delete=models.PROTECT, related_name="uses")
    outcome = models.CharField(max_length=10)
    why = models.CharField(max_length=500, blank=True)
    withdrawn = models.BooleanField(default=False)
    doubled = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["copy_used"],
                condition=Q(doubled=False, withdrawn=False),
                name="copy_used_once_unless_flagged",
            ),
            models.UniqueConstraint(fields=["application", "item"], name="copy_use_item_once"),
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in Outcome]),
                name="copy_use_outcome_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.copy_used} {self.outcome}"
