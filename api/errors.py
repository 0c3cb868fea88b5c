"""Every error leaves the server in one shape: code, message, retryable, and the field it is about."""

from __future__ import annotations

import logging
from typing import Any

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import Http404
from django.views.defaults import page_not_found
from rest_framework import exceptions
from rest_framework.response import Response

from continuity.sync.refusal import Code, Refusal

log = logging.getLogger(__name__)

_CODES: dict[type[Exception], Code] = {
    exceptions.NotAuthenticated: Code.signed_out,
    exceptions.AuthenticationFailed: Code.signed_out,
    exceptions.PermissionDenied: Code.not_allowed,
    exceptions.NotFound: Code.not_found,
    exceptions.MethodNotAllowed: Code.method_not_allowed,
    exceptions.UnsupportedMediaType: Code.unsupported_media_type,
    exceptions.NotAcceptable: Code.not_a_request,
    exceptions.Throttled: Code.too_many_attempts,
    exceptions.ParseError: Code.not_json,
    exceptions.ValidationError: Code.not_a_request,
    Http404: Code.not_found,
}


class CsrfFailed(exceptions.APIException):
    """The request did not carry the token that goes with the session."""


def error_body(code: Code, message: str, field: str | None = None) -> dict[str, Any]:
    """The body of every error."""
    body: dict[str, Any] = {"code": code.name, "message": message, "retryable": code.retryable}
    if field:
        body["field"] = field
    return body


def exception_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """Django REST framework's hook: what is raised in a view becomes an answer with a stable code."""
    if isinstance(error, Refusal):
        code, message, field = error.code, error.message, error.field
    elif isinstance(error, CsrfFailed):
        code, message, field = Code.csrf_failed, "The session's token is missing or old; load it again.", None
    elif isinstance(error, OperationalError):
        log.exception("The database did not answer")
        code, message, field = Code.server_busy, "The server is busy; nothing was stored. Try again.", None
    elif isinstance(error, exceptions.ValidationError):
        code = Code.not_a_request
        field, message = _first_fault(error.detail)
    elif isinstance(error, exceptions.APIException | Http404):
        code = _CODES.get(type(error), Code.not_a_request)
        message, field = str(getattr(error, "detail", "")) or "There is nothing here.", None
    else:
        return None
    return Response(error_body(code, message, field), status=code.status)


def csrf_failure(request: HttpRequest, reason: str = "") -> JsonResponse:
    """What Django's own CSRF check answers with."""
    body = error_body(Code.csrf_failed, "The session's token is missing or old; load it again.")
    return JsonResponse(body, status=Code.csrf_failed.status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What an address that does not exist answers with."""
    if not request.path.startswith("/api/"):
        return page_not_found(request, exception)
    return JsonResponse(error_body(Code.not_found, "There is nothing here."), status=404)


def locked_out(request: HttpRequest, response: HttpResponse, credentials: dict[str, Any]) -> JsonResponse:
    """What whoever has tried too many passwords is answered with, here and in the admin."""
    body = error_body(Code.too_many_attempts, "Too many attempts; try again in a quarter of an hour.")
    return JsonResponse(body, status=Code.too_many_attempts.status)


def _first_fault(detail: Any) -> tuple[str | None, str]:
    path: list[str] = []
    while isinstance(detail, dict | list) and detail:
        if isinstance(detail, dict):
            name, detail = next(iter(detail.items()))
            if name != "non_field_errors":
                path.append(str(name))
        else:
            detail = detail[0]
    field = ".".join(path) or None
    return field, f"{field}: {detail}" if field else str(detail)
