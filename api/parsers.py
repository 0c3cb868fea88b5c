"""Reading request bodies."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

from continuity.sync.refusal import Code, Refusal
from continuity.sync.strict_json import UnreadableJson, read_json


class StrictJSONParser(BaseParser):
    """JSON that a database can store and give back unchanged, of a bounded size."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        raw = stream.read(limit + 1)
        if len(raw) > limit:
            raise Refusal(Code.too_large, f"The request is larger than {limit} bytes.")
        try:
            return read_json(raw)
        except UnreadableJson as error:
            raise ParseError(str(error)) from None


class RawParser(BaseParser):
    """A body handed on unread: a piece of a photo, or a file of unsent records."""

    media_type = "application/octet-stream"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        return stream


class LinesParser(RawParser):
    """A file with one JSON value a line."""

    media_type = "application/x-ndjson"
