"""Photos of applications: what each shows, and the file it is in."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class PhotoFile(models.Model):
    """A file a record's manifest asks for, by the sha256 of the bytes the phone holds.

    ``state`` is "awaited" until all its bytes have come, then "stored": the original is kept, and the phone
    may forget it. ``size`` and ``received`` are in bytes. ``renditions`` (the small and the large) and
    ``full`` are "to_be_made" until the worker has made them, "made", or "failed", and then ``reason`` says
    why. ``not_measurable`` says why no colour can be measured in it, where none can. ``attempts`` counts the
    worker's beginnings; until ``claimed_until`` one of them is at it.
    """

    production = models.ForeignKey(
        "schedule.Production", on_delete=models.PROTECT, related_name="photo_files"
    )
    sha256 = models.CharField(max_length=64)
    size = models.BigIntegerField()
    media_type = models.CharField(max_length=20)
    state = models.CharField(max_length=10, default="awaited")
    reason = models.CharField(max_length=200, blank=True)
    received = models.BigIntegerField(default=0)
    stored_at = models.DateTimeField(null=True)
    width = models.IntegerField(null=True)
    height = models.IntegerField(null=True)
    renditions = models.CharField(max_length=10, default="to_be_made")
    full = models.CharField(max_length=10, default="to_be_made")
    not_measurable = models.CharField(max_length=200, blank=True)
    attempts = models.IntegerField(default=0)
    claimed_until = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["production", "sha256"], name="photo_file_once_a_production"),
            models.CheckConstraint(
                condition=Q(state__in=["awaited", "stored"]), name="photo_file_is_awaited_or_stored"
            ),
            models.CheckConstraint(
                condition=Q(renditions__in=["to_be_made", "made", "failed"])
                & Q(full__in=["to_be_made", "made", "failed"]),
                name="photo_renditions_are_known",
            ),
        ]
        indexes = [models.Index(fields=["state", "renditions", "full"], name="photo_files_to_prepare")]

    def __str__(self) -> str:
        return self.sha256[:12]


class Photo(models.Model):
    """A photo of an application: its angle, its moment, the scene and the story day."""

    application = models.ForeignKey(
        "applications.Application", on_delete=models.CASCADE, related_name="photos"
    )
    item = models.UUIDField()
    file = models.ForeignKey(PhotoFile, on_delete=models.PROTECT, related_name="photos")
    angle = models.CharField(max_length=20)
    moment = models.CharField(max_length=10)
    scene = models.ForeignKey("schedule.Scene", null=True, on_delete=models.PROTECT)
    story_day = models.IntegerField(null=True)
    taken_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["application", "item"], name="photo_item_once")]

    def __str__(self) -> str:
        return f"{self.angle} {self.moment}"
