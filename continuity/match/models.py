"""Verdicts, guides and measurements, as tables. The whole of each is in its record."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from continuity.match.documents import VerdictWord
from continuity.sync.base import ProductionRecord


class Verdict(ProductionRecord):
    """Whether an application matches the established one."""

    application = models.ForeignKey(
        "applications.Application", on_delete=models.PROTECT, related_name="verdicts"
    )
    against = models.ForeignKey(
        "applications.Application", null=True, on_delete=models.PROTECT, related_name="verdicts_against"
    )
    verdict = models.CharField(max_length=20)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(verdict__in=[word.value for word in VerdictWord]), name="verdict_is_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.application}: {self.verdict}"


class PhotoGuide(ProductionRecord):
    """The eye line and the outline drawn on a photo."""

    sha256 = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"Guide on {self.sha256[:12]}"


class ColourMeasurement(ProductionRecord):
    """Two photos to be measured. ``state`` is "awaiting", "measured" or "cannot_be_measured".

    ``beginnings`` counts how often the measuring was begun without an end. ``failing_since`` is since when a
    photo could not be read for a reason that may pass, and until ``next_at`` it is left alone. An edit of the
    record sets all of it back.
    """

    look = models.ForeignKey("schedule.Look", on_delete=models.PROTECT, related_name="measurements")
    then_application = models.ForeignKey(
        "applications.Application", on_delete=models.PROTECT, related_name="+"
    )
    now_application = models.ForeignKey(
        "applications.Application", on_delete=models.PROTECT, related_name="+"
    )
    then_sha256 = models.CharField(max_length=64)
    now_sha256 = models.CharField(max_length=64)
    state = models.CharField(max_length=20, default="awaiting")
    beginnings = models.IntegerField(default=0)
    failing_since = models.DateTimeField(null=True)
    next_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["state"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["awaiting", "measured", "cannot_be_measured"]),
                name="measurement_state_is_known",
            )
        ]

    def __str__(self) -> str:
        return f"{self.look}: {self.state}"
