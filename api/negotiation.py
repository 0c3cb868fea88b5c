"""What an answer is written as."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request


class OneForm(BaseContentNegotiation):
    """Every answer has one form, JSON or the picture itself, whatever an ``Accept`` header prefers."""

    def select_parser(self, request: Request, parsers: Iterable[Any]) -> Any:
        media_type = (request.content_type or "").split(";")[0].strip().lower()
        return next((parser for parser in parsers if parser.media_type == media_type), None)

    def select_renderer(
        self, request: Request, renderers: Iterable[Any], format_suffix: str | None = None
    ) -> tuple[Any, str]:
        renderer = next(iter(renderers))
        return renderer, renderer.media_type
