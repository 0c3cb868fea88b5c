"""Where orders are sent to, what is to be sent, and the secret address of a calendar."""

from __future__ import annotations

import secrets

from django.db import models
from django.db.models import Q
from uuid6 import uuid7


class DestinationSort(models.TextChoices):
    """By what way a destination is reached."""

    EMAIL = "email", "E-mail"
    WEBHOOK = "webhook", "Webhook"
    PUSH = "push", "Push message"


class DeliveryState(models.TextChoices):
    """What became of something that is to be sent."""

    WAITING = "waiting", "Waiting"
    DELIVERED = "delivered", "Delivered"
    GIVEN_UP = "given_up", "Given up"


class Destination(models.Model):
    """One address that is told of every order. ``secret`` signs what goes to a webhook; ``public_key`` and
    ``auth_secret`` are those of a push subscription, which is ``whose``. One that is removed is kept, not
    ``active``, for what was sent to it.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    production = models.ForeignKey("schedule.Production", on_delete=models.PROTECT, related_name="+")
    sort = models.CharField(max_length=7, choices=DestinationSort.choices)
    address = models.CharField(max_length=1000)
    secret = models.CharField(max_length=100, blank=True)
    public_key = models.CharField(max_length=100, blank=True)
    auth_secret = models.CharField(max_length=50, blank=True)
    whose = models.ForeignKey("people.Membership", null=True, on_delete=models.PROTECT, related_name="+")
    active = models.BooleanField(default=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["production", "sort", "address"],
                condition=Q(active=True),
                name="a_destination_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_sort_display()} {self.address}"


class Outgoing(models.Model):
    """One message to one destination: written with the order, sent after that is committed, at least once.

    ``id`` is the message's own, by which a receiver drops doubles. ``sequence`` counts the messages of one
    order to one destination, which arrive in that order. ``payload`` is the JSON text that was frozen when
    it was written. It is due at ``next_at``, unless a sender holds it until ``leased_until``; it is given up
    some days after ``since``, when it was first tried or a person asked for it to be tried again.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    destination = models.ForeignKey(Destination, on_delete=models.PROTECT, related_name="outgoing")
    order = models.ForeignKey("shop.Order", on_delete=models.PROTECT, related_name="outgoing")
    revision = models.UUIDField()
    sequence = models.IntegerField()
    payload = models.TextField()
    written_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=9, choices=DeliveryState.choices, default=DeliveryState.WAITING)
    attempts = models.IntegerField(default=0)
    since = models.DateTimeField()
    next_at = models.DateTimeField()
    leased_until = models.DateTimeField(null=True)
    last_error = models.CharField(max_length=500, blank=True)
    delivered_at = models.DateTimeField(null=True)

    class Meta:
        verbose_name_plural = "outgoing"
        indexes = [
            models.Index(fields=["next_at"], condition=Q(state="waiting"), name="outgoing_that_waits"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["destination", "order", "sequence"], name="one_message_a_place_in_the_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order} to {self.destination}"


def new_calendar_secret() -> str:
    return secrets.token_urlsafe(32)


class CalendarAddress(models.Model):
    """The secret part of the address at which a production's orders are read as a calendar."""

    production = models.OneToOneField(
        "schedule.Production", primary_key=True, on_delete=models.PROTECT, related_name="+"
    )
    secret = models.CharField(max_length=60, unique=True, default=new_calendar_secret)

    def __str__(self) -> str:
        return f"Calendar of {self.production}"
