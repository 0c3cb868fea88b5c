"""Who is who on a production."""

from __future__ import annotations

from uuid import UUID

from django.contrib.auth.models import User

from continuity.people.models import Membership


def membership_of(user: User, production_id: UUID) -> Membership | None:
    """The user's place on a production, None when they have none: then it does not exist for them."""
    return Membership.objects.filter(user=user, production_id=production_id, active=True).first()


def memberships_of(user: User) -> list[Membership]:
    """Every production the user works on, by name."""
    return list(
        Membership.objects.select_related("production")
        .filter(user=user, active=True)
        .order_by("production__name", "production_id")
    )
