"""What is printed, as an answer: it is neither kept nor shown to anyone else."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes

from api.shapes import ERRORS

PDF: dict[Any, Any] = {(200, "application/pdf"): OpenApiTypes.BINARY, **ERRORS}
"""For the OpenAPI document."""


def pdf(content: bytes, name: str) -> HttpResponse:
    """A PDF under this file name."""
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "Cache-Control": "private, no-store",
        },
    )
