"""What the OpenAPI document needs to be told."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class SessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "api.authentication.SessionAuthentication"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class CrewSessionScheme(SessionScheme):  # type: ignore[no-untyped-call]
    """The same cookie; who is signed in is of the crew."""

    target_class = "api.authentication.CrewAuthentication"
    name = "crew_session"
