"""The base of every view inside a production: whoever is not of its crew does not learn that it exists."""

from __future__ import annotations

from typing import Any, ClassVar

from rest_framework.request import Request
from rest_framework.views import APIView

from api.authentication import CrewAuthentication, signed_in_user
from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.sync.refusal import Code, Refusal


class ProductionView(APIView):
    """``roles`` may use the view; None for the whole crew."""

    authentication_classes = [CrewAuthentication]
    roles: ClassVar[frozenset[Role] | None] = None
    membership: Membership

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        signed_in_user(request)
        if not isinstance(request.auth, Membership):
            raise Refusal(Code.not_found, "There is no such production.")
        self.membership = request.auth
        if self.roles is not None and Role(self.membership.role) not in self.roles:
            raise Refusal(Code.not_allowed, "Your role may not do this.")
