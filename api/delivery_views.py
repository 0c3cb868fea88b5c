"""Where orders are sent to, what could not be delivered, push subscriptions, and the shop's calendar."""

from __future__ import annotations

import hashlib
import json
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import delivery_shapes, shapes
from api.delivery_shapes import delivery_shape, destination_shape
from api.productions import ProductionView
from api.shapes import ERRORS
from continuity.deliveries import selectors, services
from continuity.deliveries.models import Outgoing
from continuity.people.documents import Role

HEAD = frozenset({Role.DEPARTMENT_HEAD})
SHOP_AND_HEAD = frozenset({Role.SHOP, Role.DEPARTMENT_HEAD})


class DestinationsView(ProductionView):
    """The addresses that are told of every order."""

    roles = HEAD

    @extend_schema(operation_id="destinations", responses={200: delivery_shapes.DestinationsAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        return Response(self._answer(production))

    @extend_schema(
        operation_id="add_destination",
        request=delivery_shapes.NewDestination,
        responses={201: delivery_shapes.DestinationsAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        sent = shapes.read_shape(delivery_shapes.NewDestination, request.data)
        services.add_destination(
            production_id=production, sort=sent.sort, address=sent.address, secret=sent.secret
        )
        return Response(self._answer(production), status=201)

    def _answer(self, production: UUID) -> dict[str, object]:
        return {
            "answer": "destinations",
            "mail_is_set_up": settings.MAIL_SERVER is not None,
            "destinations": [destination_shape(found) for found in selectors.destinations(production)],
        }


class DestinationView(DestinationsView):
    """One of them, to be told no more."""

    http_method_names = ["delete", "options"]

    @extend_schema(
        operation_id="remove_destination",
        responses={200: delivery_shapes.DestinationsAnswer, **ERRORS},
    )
    def delete(self, request: Request, production: UUID, destination: UUID) -> Response:
        services.remove_destination(production_id=production, destination_id=destination)
        return Response(self._answer(production))


class DeliveriesView(ProductionView):
    """What was tried and could not be delivered yet, or was given up."""

    roles = SHOP_AND_HEAD

    @extend_schema(operation_id="deliveries", responses={200: delivery_shapes.DeliveriesAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        found = selectors.not_delivered(production)
        return Response({"answer": "deliveries", "deliveries": [_delivery(each) for each in found]})


class DeliveryRetryView(ProductionView):
    """Trying one of them again, now."""

    roles = SHOP_AND_HEAD

    @extend_schema(
        operation_id="retry_delivery",
        request=None,
        responses={200: delivery_shapes.DeliveryAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID, delivery: UUID) -> Response:
        found = services.try_again(production_id=production, outgoing_id=delivery)
        return Response({"answer": "delivery", "delivery": _delivery(found)})


class PushView(ProductionView):
    """A phone that is told of orders by push: its owner's own affair."""

    @extend_schema(operation_id="push", responses={200: delivery_shapes.PushAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        return Response(self._answer())

    @extend_schema(
        operation_id="subscribe_to_push",
        request=delivery_shapes.PushSubscription,
        responses={201: delivery_shapes.PushAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        sent = shapes.read_shape(delivery_shapes.PushSubscription, request.data)
        services.subscribe(
            member=self.membership,
            endpoint=sent.endpoint,
            public_key=sent.keys.p256dh,
            auth_secret=sent.keys.auth,
        )
        return Response(self._answer(), status=201)

    @extend_schema(
        operation_id="end_push",
        request=delivery_shapes.PushEnd,
        responses={200: delivery_shapes.PushAnswer, **ERRORS},
    )
    def delete(self, request: Request, production: UUID) -> Response:
        sent = shapes.read_shape(delivery_shapes.PushEnd, request.data)
        services.unsubscribe(member=self.membership, endpoint=sent.endpoint)
        return Response(self._answer())

    def _answer(self) -> dict[str, object]:
        return {
            "answer": "push",
            "public_key": selectors.push_public_key(),
            "endpoints": selectors.subscriptions_of(self.membership),
        }


class CalendarAddressView(ProductionView):
    """The secret address of the calendar, and a new one in its place."""

    roles = SHOP_AND_HEAD

    @extend_schema(operation_id="calendar_address", responses={200: delivery_shapes.CalendarAnswer, **ERRORS})
    def get(self, request: Request, production: UUID) -> Response:
        return Response(_calendar(services.calendar_secret(production_id=production)))

    @extend_schema(
        operation_id="renew_calendar_address",
        request=None,
        responses={201: delivery_shapes.CalendarAnswer, **ERRORS},
    )
    def post(self, request: Request, production: UUID) -> Response:
        secret = services.renew_calendar_secret(production_id=production)
        return Response(_calendar(secret), status=201)


class CalendarView(APIView):
    """The calendar itself. Whoever has the address may read it: a calendar program cannot sign in."""

    authentication_classes = []
    permission_classes = [AllowAny]

    @extend_schema(
        operation_id="calendar",
        auth=[],
        responses={(200, "text/calendar"): OpenApiTypes.STR, 304: None, **ERRORS},
    )
    def get(self, request: Request, secret: str) -> HttpResponse:
        text = selectors.calendar_at(secret)
        tag = f'"{hashlib.sha256(text).hexdigest()[:32]}"'
        headers = {"ETag": tag, "Cache-Control": "private, no-cache", "Referrer-Policy": "no-referrer"}
        if tag in _tags(request):
            return HttpResponse(status=304, headers=headers)
        return HttpResponse(text, content_type="text/calendar; charset=utf-8", headers=headers)


def _tags(request: Request) -> set[str]:
    """What the reader has already (RFC 9110, section 13.1.2: compared weakly)."""
    given = request.headers.get("If-None-Match", "").split(",")
    return {tag.strip().removeprefix("W/") for tag in given}


def _calendar(secret: str) -> dict[str, str]:
    return {"answer": "calendar", "path": f"/calendar/{secret}.ics"}


def _delivery(found: Outgoing) -> dict[str, object]:
    return delivery_shape(found, json.loads(found.payload)["data"]["words"])
