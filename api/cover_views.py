"""The cover, what it rests on, what it would be, and its page for the meeting. The whole crew may see
all of them; nothing of them is stored, and nothing speaks of anyone's health."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api import shapes
from api.cover_shapes import change_of, cover_shape, reasons_shape
from api.pdf import PDF, pdf
from api.productions import ProductionView
from api.shapes import ERRORS
from continuity.cover.report import report_of
from continuity.cover.selectors import cover_if, cover_of_production, reasons_of_appliance
from continuity.shop.selectors import open_orders


class CoverView(ProductionView):
    """How many spares, until when, how sure: every appliance."""

    @extend_schema(operation_id="cover", responses={200: shapes.CoverAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        show = self.membership.production
        orders = open_orders(production)
        return Response(
            {
                "answer": "cover",
                "worked_out_at": timezone.now(),
                "target": show.cover_target,
                "appliances": [cover_shape(found, orders) for found in cover_of_production(production)],
            }
        )


class CoverReasonsView(ProductionView):
    """The days, log lines and copies behind the numbers of one appliance, and what would help."""

    @extend_schema(operation_id="cover_reasons", responses={200: shapes.CoverReasonsAnswer, **ERRORS})
    def get(self, request: Request, production: UUID, appliance: UUID) -> Response:
        return Response(reasons_shape(reasons_of_appliance(production, appliance)))


class WhatIfView(ProductionView):
    """The cover as it would be after changes, beside today's. Nothing is stored."""

    @extend_schema(
        operation_id="cover_what_if",
        request=shapes.WhatIf,
        responses={200: shapes.WhatIfAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        asked = shapes.read_shape(shapes.WhatIf, request.data)
        found = cover_if(production, [change_of(change) for change in asked.changes])
        orders = open_orders(production)
        return Response(
            {
                "answer": "what_if",
                "today": [cover_shape(cover, orders) for cover in found.today],
                "then": [cover_shape(cover, orders) for cover in found.then],
                "words": list(found.words),
            }
        )


class CoverReportView(ProductionView):
    """The page for the production meeting."""

    @extend_schema(operation_id="cover_report", responses=PDF)
    def get(self, request: Request, production: UUID) -> HttpResponse:
        return pdf(report_of(production), "cover.pdf")
