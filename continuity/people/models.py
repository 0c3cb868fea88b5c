"""Accounts on a production, and performers. A performer's health notes stay in the performer's record."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from uuid6 import uuid7

from continuity.sync.base import ProductionRecord


class Membership(models.Model):
    """An account's role on a production. Its id is the crew record's id."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    production = models.ForeignKey("schedule.Production", on_delete=models.PROTECT, related_name="crew")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=20)
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["production", "user"], name="one_role_a_production")]

    def __str__(self) -> str:
        return f"{self.user} ({self.role})"


class Performer(ProductionRecord):
    name = models.CharField(max_length=200)
    doubles = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="doubled_by")

    def __str__(self) -> str:
        return self.name
