"""Who is asking: Django's session, with an answer the phone can tell from a missing role."""

from __future__ import annotations

from django.contrib.auth.models import User
from rest_framework import authentication, exceptions
from rest_framework.request import Request

from api.errors import CsrfFailed


class SessionAuthentication(authentication.SessionAuthentication):
    """Signed out is 401 (sign in again, keep everything); a stale token is its own code."""

    def authenticate_header(self, request: Request) -> str:
        return "Session"

    def enforce_csrf(self, request: Request) -> None:
        try:
            super().enforce_csrf(request)
        except exceptions.PermissionDenied:
            raise CsrfFailed from None


def signed_in_user(request: Request) -> User:
    """The user of a request that only signed-in people reach. Raises the framework's NotAuthenticated."""
    if not isinstance(request.user, User):
        raise exceptions.NotAuthenticated
    return request.user
