"""Entries, as they came, and records, as they stand."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class Entry(models.Model):
    """One thing written, exactly as it arrived. Never changed in substance, never deleted.

    ``state`` is "applied", or "held" while the entry it is based on has not come. ``seq`` is its place in
    the production's feed, given when it is applied. ``made_by`` made it; ``sent_by`` was signed in when
    it reached the server.
    """

    id = models.UUIDField(primary_key=True)
    production = models.ForeignKey("schedule.Production", on_delete=models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=20)
    record = models.UUIDField()
    based_on = models.UUIDField(null=True)
    seen = models.BigIntegerField(default=0)
    patch = models.JSONField()
    withdrawal = models.TextField(blank=True)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    device = models.UUIDField()
    made_by = models.ForeignKey("people.Membership", on_delete=models.PROTECT, related_name="entries_made")
    sent_by = models.ForeignKey("people.Membership", on_delete=models.PROTECT, related_name="entries_sent")
    body_sha256 = models.CharField(max_length=64)
    state = models.CharField(max_length=8)
    seq = models.BigIntegerField(null=True)
    conflict = models.BooleanField(default=False)

    class Meta:
        verbose_name_plural = "entries"
        indexes = [models.Index(fields=["record", "seq"]), models.Index(fields=["record", "based_on"])]
        constraints = [
            models.UniqueConstraint(fields=["production", "seq"], name="entry_one_place_in_the_feed"),
            models.CheckConstraint(
                condition=(Q(state="applied") & Q(seq__isnull=False))
                | (Q(state="held") & Q(seq__isnull=True)),
                name="entry_applied_has_a_place",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.id}"


class Record(models.Model):
    """The head of a record's chain of entries: its document now, and its place in the production's feed.

    ``derived`` is what the server works out about it (a copy's state, a sheet's warnings); it is never
    written by a phone.
    """

    id = models.UUIDField(primary_key=True)
    production = models.ForeignKey("schedule.Production", on_delete=models.PROTECT, related_name="records")
    kind = models.CharField(max_length=20)
    document = models.JSONField()
    derived = models.JSONField(default=dict)
    revision = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="+")
    seq = models.BigIntegerField()
    withdrawn = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["production", "kind"])]
        constraints = [
            models.UniqueConstraint(fields=["production", "seq"], name="record_one_place_in_the_feed")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.id}"
