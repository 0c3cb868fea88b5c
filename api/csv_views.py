"""Scenes and shoot days from a CSV file each: a template, a preview, and saving what was previewed."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api import shapes
from api.productions import ProductionView
from api.shapes import ERRORS
from api.views import read
from continuity.schedule.csv_import.comparison import Sheet
from continuity.schedule.csv_import.services import SHEETS, confirm_csv, preview_csv
from continuity.schedule.csv_import.template import template_of
from continuity.schedule.records import SCHEDULERS
from continuity.sync.refusal import Code, Refusal

WHAT = OpenApiParameter("what", OpenApiTypes.STR, OpenApiParameter.PATH, enum=list(SHEETS))


class WhateverIsAsked(DefaultContentNegotiation):
    """A browser that asks for text/csv gets its file from the view, and an error as JSON all the same."""

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        first = next(iter(renderers))
        return first, first.media_type


class CsvTemplateView(ProductionView):
    """The file to start from."""

    roles = SCHEDULERS
    content_negotiation_class = WhateverIsAsked

    @extend_schema(
        operation_id="csv_template",
        parameters=[WHAT],
        responses={(200, "text/csv"): OpenApiTypes.STR, **ERRORS},
    )
    def get(self, request: Request, production: UUID, what: str) -> HttpResponse:
        return HttpResponse(
            template_of(sheet_of(what)),
            content_type="text/csv; charset=utf-8; header=present",
            headers={"Content-Disposition": f'attachment; filename="{what}.csv"'},
        )


class CsvPreviewView(ProductionView):
    """What a file would add and change, and each line that cannot be read. Stores nothing."""

    roles = SCHEDULERS

    @extend_schema(
        operation_id="preview_csv",
        parameters=[WHAT],
        request=shapes.CsvText,
        responses={200: shapes.CsvPreview, **ERRORS},
    )
    def post(self, request: Request, production: UUID, what: str) -> Response:
        sheet, sent = sheet_of(what), read(shapes.CsvText, request)
        preview = preview_csv(production_id=production, sheet=sheet, text=sent.text)
        found = preview.comparison
        return Response(
            {
                "answer": "csv_preview",
                "digest": preview.digest,
                "added": [{"line": line.line, "words": line.words} for line in found.added],
                "changed": [{"line": line.line, "words": line.words} for line in found.changed],
                "unchanged": found.unchanged,
                "unreadable": [vars(line) for line in found.unreadable],
            }
        )


class CsvConfirmView(ProductionView):
    """Saving a previewed file: every line that can be read, or nothing."""

    roles = SCHEDULERS

    @extend_schema(
        operation_id="confirm_csv",
        parameters=[WHAT],
        request=shapes.CsvConfirmation,
        responses={200: shapes.CsvConfirmed, **ERRORS},
    )
    def post(self, request: Request, production: UUID, what: str) -> Response:
        sheet, sent = sheet_of(what), read(shapes.CsvConfirmation, request)
        saved = confirm_csv(sender=self.membership, sheet=sheet, text=sent.text, digest=sent.digest)
        return Response({"answer": "csv_confirmed", "added": len(saved.added), "changed": len(saved.changed)})


def sheet_of(what: str) -> Sheet:
    """The sort of file an address is about. Raises `Refusal` (not_found)."""
    if what not in SHEETS:
        raise Refusal(Code.not_found, "A file is of scenes or of shoot days.")
    return SHEETS[what]
