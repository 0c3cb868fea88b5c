"""What no view should have to think of."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse

from api.errors import error_body
from continuity.sync.refusal import Code

MAXIMUM_BODY = 300_000_000


class BoundedBodyMiddleware:
    """Refuse a body that announces more bytes than the largest thing this server takes, before reading it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            announced = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            announced = 0
        if announced > MAXIMUM_BODY:
            return JsonResponse(error_body(Code.too_large, "The request is too large."), status=413)
        return self.get_response(request)
