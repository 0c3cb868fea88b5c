"""Who is asking: Django's session, with an answer the phone can tell from a missing role."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth.models import User
from rest_framework import authentication, exceptions
from rest_framework.request import Request

from api.errors import CsrfFailed
from continuity.people.selectors import membership_of
from continuity.people.sign_ins import recognise, remember


class SessionAuthentication(authentication.SessionAuthentication):
    """Signed out is 401 (sign in again, keep everything); a stale token is its own code."""

    def authenticate_header(self, request: Request) -> str:
        return "Session"

    def enforce_csrf(self, request: Request) -> None:
        try:
            super().enforce_csrf(request)
        except exceptions.PermissionDenied:
            raise CsrfFailed from None


class CrewAuthentication(SessionAuthentication):
    """For views inside a production: ``request.auth`` is the user's place on it, None when they have none."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        production: UUID = request.parser_context["kwargs"]["production"]
        session_key = request._request.COOKIES.get(settings.SESSION_COOKIE_NAME)
        known = recognise(session_key, production) if session_key else None
        if known is not None:
            self.enforce_csrf(request)
            return known
        found = super().authenticate(request)
        if found is None:
            return None
        user = found[0]
        remember(request._request.session, user, production)
        return user, membership_of(user, production)


def signed_in_user(request: Request) -> User:
    """The user of a request that only signed-in people reach. Raises the framework's NotAuthenticated."""
    if not isinstance(request.user, User):
        raise exceptions.NotAuthenticated
    return request.user
