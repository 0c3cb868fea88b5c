"""The cast ticket of an order, solvent vapour in a room, labels of copies, and the stock of materials. The
whole crew may see them; nothing of them is stored, and nothing speaks of anyone's health."""

from __future__ import annotations

from dataclasses import asdict
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.pdf import PDF, pdf
from api.productions import ProductionView
from api.query import choice, ids, number, whole_number
from api.shapes import ERRORS
from api.ticket_shapes import (
    DrawsAnswer,
    StockAnswer,
    TicketAnswer,
    VapourAnswer,
    stock_shape,
    ticket_answer,
    vapour_fields,
)
from continuity.schedule.documents import LabelPage, ProductionDocument
from continuity.shop.batch import decimal_of
from continuity.shop.label_facts import labels_pdf, sheet_of
from continuity.shop.labels import Sheet
from continuity.shop.material_stock import draws_of, stock_of
from continuity.shop.ticket_facts import ticket_of, ticket_pdf
from continuity.shop.ticket_words import vapour as vapour_words
from continuity.shop.vapour import Room, Solvent, screen
from continuity.sync.models import Record
from continuity.sync.selectors import document_of

MOST_LABELS = 200
"""In one request: what an address can hold."""


def parameter(name: str, kind: type, required: bool = False) -> OpenApiParameter:
    """A member of the address, for the OpenAPI document."""
    return OpenApiParameter(name, kind, OpenApiParameter.QUERY, required=required)


class TicketView(ProductionView):
    """The cast ticket of an order as everything stands now."""

    @extend_schema(operation_id="ticket", responses={200: TicketAnswer, **ERRORS})
    def get(self, request: Request, production: UUID, order: UUID) -> Response:
        return Response(ticket_answer(ticket_of(order, production)).model_dump(mode="json"))


class TicketPageView(ProductionView):
    """The same on one page, for the bench."""

    @extend_schema(operation_id="ticket_page", responses=PDF)
    def get(self, request: Request, production: UUID, order: UUID) -> HttpResponse:
        return pdf(ticket_pdf(order, production), "cast-ticket.pdf")


class VapourView(ProductionView):
    """What so much solvent does to the air of a room: a screening figure, not a measurement."""

    @extend_schema(
        operation_id="vapour",
        parameters=[
            parameter("solvent", str, required=True),
            parameter("millilitres", float, required=True),
            parameter("minutes", float, required=True),
            parameter("room_cubic_metres", float),
            parameter("air_changes_per_hour", float),
        ],
        responses={200: VapourAnswer, **ERRORS},
    )
    def get(self, request: Request, production: UUID) -> Response:
        show = document_of(Record.objects.get(id=production), ProductionDocument)
        solvent = choice(request, "solvent", Solvent)
        millilitres = number(request, "millilitres", None, 0.001, 1_000_000)
        minutes = number(request, "minutes", None, 0.1, 1440)
        room = Room(
            number(request, "room_cubic_metres", show.spray_room_cubic_metres, 0.1, 100_000),
            number(request, "air_changes_per_hour", show.air_changes_per_hour, 0, 1000),
        )
        found = screen(solvent, millilitres, minutes, room)
        words = vapour_words(found, decimal_of(millilitres), minutes, room)
        fields = vapour_fields(found, millilitres, minutes, room.cubic_metres, room.air_changes)
        return Response(VapourAnswer.model_validate({**fields, "words": list(words)}).model_dump(mode="json"))


class LabelsView(ProductionView):
    """A sheet of labels for copies. What the sheet is like is the production's, unless the request says."""

    @extend_schema(
        operation_id="labels",
        parameters=[
            parameter("copies", str, required=True),
            parameter("skip", int),
            parameter("page", str),
            *(parameter(name, int) for name in ("rows", "columns")),
            *(parameter(name, float) for name in ("margin_top", "margin_side", "gap_across", "gap_down")),
        ],
        responses=PDF,
    )
    def get(self, request: Request, production: UUID) -> HttpResponse:
        own = sheet_of(document_of(Record.objects.get(id=production), ProductionDocument))
        sheet = Sheet(
            page=choice(request, "page", LabelPage, own.page),
            rows=whole_number(request, "rows", own.rows, 1, 40),
            columns=whole_number(request, "columns", own.columns, 1, 20),
            margin_top=number(request, "margin_top", own.margin_top, 0, 150),
            margin_side=number(request, "margin_side", own.margin_side, 0, 150),
            gap_across=number(request, "gap_across", own.gap_across, 0, 150),
            gap_down=number(request, "gap_down", own.gap_down, 0, 150),
        )
        skip = whole_number(request, "skip", 0, 0, sheet.labels - 1)
        address = settings.APP_ADDRESS or request.build_absolute_uri("/").rstrip("/")
        content = labels_pdf(production, ids(request, "copies", MOST_LABELS), sheet, skip, address)
        return pdf(content, "labels.pdf")


class StockView(ProductionView):
    """Materials in stock: what is left, until when it lasts, what to see to."""

    @extend_schema(operation_id="stock", responses={200: StockAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        found = StockAnswer(materials=[stock_shape(stock) for stock in stock_of(production)])
        return Response(found.model_dump(mode="json"))


class DrawsView(ProductionView):
    """What cast runs and applications took from one lot, the newest first."""

    @extend_schema(operation_id="draws", responses={200: DrawsAnswer, **ERRORS})
    def get(self, request: Request, production: UUID, material: UUID) -> Response:
        draws = [asdict(drawn) for drawn in draws_of(production, material)]
        return Response({"answer": "draws", "draws": draws})
