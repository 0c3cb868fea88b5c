"""The match sheet, for the whole crew: nothing on it speaks of anyone's health."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request

from api.pdf import PDF, pdf
from api.productions import ProductionView
from api.query import an_id
from continuity.match.sheet import sheet_of_day, sheet_of_look
from continuity.sync.refusal import Code, Refusal


class MatchSheetView(ProductionView):
    """A page or two for a look, or for each look of a shoot day."""

    @extend_schema(
        operation_id="match_sheet",
        parameters=[
            OpenApiParameter("look", OpenApiTypes.UUID, description="The look; or"),
            OpenApiParameter("shoot_day", OpenApiTypes.UUID, description="the shoot day. One of the two."),
        ],
        responses=PDF,
    )
    def get(self, request: Request, production: UUID) -> HttpResponse:
        look, day = (an_id(request, name) for name in ("look", "shoot_day"))
        origin = request.build_absolute_uri("/").rstrip("/")
        if look and not day:
            content = sheet_of_look(viewer=self.membership, look=look, origin=origin)
        elif day and not look:
            content = sheet_of_day(viewer=self.membership, shoot_day=day, origin=origin)
        else:
            raise Refusal(Code.not_a_request, "Name a look or a shoot day, and only one of them.")
        return pdf(content, "match-sheet.pdf")
