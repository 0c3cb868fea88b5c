"""The REST layer: each view reads a request, calls one service or selector, and shapes the answer."""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.models import User
from django.http import FileResponse
from django.middleware.csrf import get_token
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import feed_shapes, shapes
from api.authentication import SessionAuthentication, signed_in_user
from api.parsers import LinesParser, RawParser
from api.productions import ProductionView
from api.query import an_id, whole_number
from api.shapes import ERRORS
from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.selectors import memberships_of
from continuity.people.services import add_crew_member, change_crew_member, create_production
from continuity.photos.selectors import open_rendition
from continuity.photos.services import MAXIMUM_PIECE, file_status, receive_piece, try_again
from continuity.schedule.documents import ProductionDocument
from continuity.sync.refusal import Code, Refusal
from continuity.sync.selectors import missing_entries, read_feed
from continuity.sync.services import accept_entries
from continuity.sync.unsent import bounded_lines, hand_in_unsent


class SessionView(APIView):
    """Who is signed in, and on which productions."""

    permission_classes = [AllowAny]

    @extend_schema(operation_id="session", responses={200: shapes.SessionShape})
    def get(self, request: Request) -> Response:
        return Response(self._session(request))

    @extend_schema(
        operation_id="sign_in", request=shapes.SignIn, responses={200: shapes.SessionShape, **ERRORS}
    )
    def post(self, request: Request) -> Response:
        # Signing in is not yet signed in, so the framework does not ask for the token by itself.
        SessionAuthentication().enforce_csrf(request)
        sent = read(shapes.SignIn, request)
        user = authenticate(request=request._request, username=sent.username, password=sent.password)
        if getattr(request._request, "axes_locked_out", False):
            raise Refusal(Code.too_many_attempts, "Too many attempts; try again in a quarter of an hour.")
        if user is None:
            raise Refusal(Code.wrong_password, "The name or the password is wrong.")
        login(request._request, user)
        request.user = user
        return Response(self._session(request))

    @extend_schema(operation_id="sign_out", request=None, responses={200: shapes.SessionShape})
    def delete(self, request: Request) -> Response:
        logout(request._request)
        request.user = request._request.user
        return Response(self._session(request))

    def _session(self, request: Request) -> dict[str, Any]:
        user = request.user if isinstance(request.user, User) else None
        return {
            "answer": "session",
            "signed_in": user is not None,
            "csrf": get_token(request._request),
            "user": {"id": user.pk, "username": user.username, "name": user.first_name or user.username}
            if user
            else None,
            "may_create_productions": user is not None and user.has_perm("schedule.add_production"),
            "productions": [production_of(member) for member in memberships_of(user)] if user else [],
        }


class ProductionsView(APIView):
    """Making a production."""

    @extend_schema(
        operation_id="create_production",
        request=shapes.NewProduction,
        responses={201: shapes.ProductionShape, **ERRORS},
    )
    def post(self, request: Request) -> Response:
        user = signed_in_user(request)
        if not user.has_perm("schedule.add_production"):
            raise Refusal(Code.not_allowed, "Your account may not make a production.")
        sent = read(shapes.NewProduction, request)
        document = shapes.read_document(ProductionDocument, {"name": sent.name, "time_zone": sent.time_zone})
        member = create_production(production_id=sent.id, document=document, head=user)
        return Response(production_of(member), status=201)


class CrewView(ProductionView):
    """Adding a person to the crew."""

    roles = frozenset({Role.DEPARTMENT_HEAD})

    @extend_schema(
        operation_id="add_crew_member",
        request=shapes.NewCrewMember,
        responses={201: OpenApiTypes.OBJECT, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        sent = read(shapes.NewCrewMember, request)
        member = add_crew_member(
            by=self.membership,
            username=sent.username,
            name=sent.name,
            password=sent.password,
            role=sent.role,
        )
        return Response({"answer": "crew", "crew": member.id}, status=201)


class CrewMemberView(ProductionView):
    """Changing a person's name or role, or ending their place."""

    roles = frozenset({Role.DEPARTMENT_HEAD})

    @extend_schema(
        operation_id="change_crew_member",
        request=shapes.CrewChange,
        responses={200: OpenApiTypes.OBJECT, **ERRORS},
    )
    def patch(self, request: Request, production: UUID, crew: UUID) -> Response:
        sent = read(shapes.CrewChange, request)
        member = change_crew_member(
            by=self.membership, crew_id=crew, name=sent.name, role=sent.role, active=sent.active
        )
        return Response({"answer": "crew", "crew": member.id})


class EntriesView(ProductionView):
    """Taking in what a device has written."""

    @extend_schema(
        operation_id="send_entries",
        request=shapes.EntriesSent,
        responses={200: shapes.EntriesAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        sent = read(shapes.EntriesSent, request)
        results = accept_entries(
            production_id=production, sender=self.membership, device=sent.device, entries=sent.entries
        )
        return Response({"answer": "entries", "results": [asdict(result) for result in results]})


class MissingEntriesView(ProductionView):
    """Which entries the server does not have: what a phone asks when the feed has gone back."""

    @extend_schema(
        operation_id="missing_entries",
        request=shapes.EntriesAsked,
        responses={200: shapes.MissingEntriesAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        ids = missing_entries(production_id=production, ids=read(shapes.EntriesAsked, request).ids)
        return Response({"answer": "missing", "ids": ids})


class ChangesView(ProductionView):
    """The feed: what has changed since a cursor."""

    @extend_schema(
        operation_id="read_changes",
        parameters=[
            OpenApiParameter(
                "after", OpenApiTypes.INT, description="The cursor of the last answer; 0 at first."
            ),
            OpenApiParameter("limit", OpenApiTypes.INT, description="Most records in the answer, 1 to 1000."),
            OpenApiParameter("mark", OpenApiTypes.UUID, description="The mark of the last answer."),
        ],
        responses={200: feed_shapes.ChangesAnswer, **ERRORS},
    )
    def get(self, request: Request, production: UUID) -> Response:
        after = whole_number(request, "after", 0, 0, 2**62)
        limit = whole_number(request, "limit", 500, 1, 1000)
        mark = an_id(request, "mark")
        feed = read_feed(membership=self.membership, after=after, limit=limit, mark=mark)
        return Response({"answer": "changes", **vars(feed)})


class FileView(ProductionView):
    """A photo's file, received in pieces."""

    parser_classes = [RawParser]

    @extend_schema(operation_id="file_status", responses={200: shapes.FileAnswer, **ERRORS})
    def get(self, request: Request, production: UUID, sha256: str) -> Response:
        return Response({"answer": "file", **vars(file_status(production_id=production, sha256=sha256))})

    @extend_schema(
        operation_id="send_file_piece",
        request={"application/octet-stream": OpenApiTypes.BINARY},
        parameters=[
            OpenApiParameter("Content-Range", OpenApiTypes.STR, OpenApiParameter.HEADER, required=True)
        ],
        responses={200: shapes.FileAnswer, **ERRORS},
    )
    def put(self, request: Request, production: UUID, sha256: str) -> Response:
        first, last, total = content_range(request)
        piece = request.data.read(MAXIMUM_PIECE + 1) if hasattr(request.data, "read") else b""
        if len(piece) > MAXIMUM_PIECE:
            raise Refusal(Code.too_large, f"A piece has at most {MAXIMUM_PIECE} bytes.")
        if len(piece) != last - first + 1:
            raise Refusal(Code.not_a_request, "The piece is not as long as it says.", field="Content-Range")
        status = receive_piece(
            production_id=production, sha256=sha256, offset=first, total=total, piece=piece
        )
        return Response({"answer": "file", **vars(status)})


class FileRetryView(ProductionView):
    """A photo that could not be read, tried once more."""

    @extend_schema(operation_id="retry_file", request=None, responses={200: shapes.FileAnswer, **ERRORS})
    def post(self, request: Request, production: UUID, sha256: str) -> Response:
        return Response({"answer": "file", **vars(try_again(production_id=production, sha256=sha256))})


class PhotoView(ProductionView):
    """A stored photo, for those who may see it."""

    @extend_schema(operation_id="photo", responses={(200, "image/*"): OpenApiTypes.BINARY, **ERRORS})
    def get(self, request: Request, production: UUID, sha256: str, rendition: str) -> FileResponse:
        file, media_type = open_rendition(viewer=self.membership, sha256=sha256, rendition=rendition)
        return FileResponse(
            file,
            content_type=media_type,
            headers={"Cache-Control": "private, max-age=31536000, immutable"},
        )


class UnsentView(ProductionView):
    """A file of what a phone could not send, handed in by another way."""

    parser_classes = [LinesParser]

    @extend_schema(
        operation_id="hand_in_unsent",
        request={"application/x-ndjson": OpenApiTypes.BINARY},
        responses={200: shapes.UnsentAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        lines = bounded_lines(request.data) if hasattr(request.data, "readline") else iter(())
        entries, photos = hand_in_unsent(production_id=production, sender=self.membership, lines=lines)
        return Response(
            {
                "answer": "unsent",
                "results": [asdict(result) for result in entries],
                "photos": [asdict(photo) for photo in photos],
            }
        )


def production_of(member: Membership) -> dict[str, Any]:
    """A production as its member sees it in the session."""
    return {
        "id": member.production_id,
        "name": member.production.name,
        "role": member.role,
        "crew": member.id,
    }


def read(shape: type[shapes.ShapeType], request: Request) -> shapes.ShapeType:
    """The request's JSON body as a shape."""
    return shapes.read_shape(shape, request.data)


def content_range(request: Request) -> tuple[int, int, int]:
    """First byte, last byte and length in all (RFC 9110, section 14.4)."""
    found = re.fullmatch(
        r"bytes (\d{1,12})-(\d{1,12})/(\d{1,12})", request.headers.get("Content-Range", ""), re.ASCII
    )
    if not found or int(found[1]) > int(found[2]):
        raise Refusal(Code.not_a_request, "Content-Range is not like bytes 0-99/1000.", field="Content-Range")
    return int(found[1]), int(found[2]), int(found[3])
