"""What every table that is worked out from a record has in common."""

from __future__ import annotations

from django.db import models
from uuid6 import uuid7


class ProductionRecord(models.Model):
    """A row worked out from the record with the same id; ``withdrawn`` when that record was taken back."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    production = models.ForeignKey("schedule.Production", on_delete=models.PROTECT, related_name="+")
    withdrawn = models.BooleanField(default=False)

    class Meta:
        abstract = True
