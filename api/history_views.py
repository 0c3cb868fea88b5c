"""What was said of an order so far. The whole crew may see it."""

from __future__ import annotations

import datetime
from dataclasses import asdict
from typing import Literal
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api import shapes
from api.productions import ProductionView
from api.shapes import ERRORS
from continuity.shop.documents import Answer, OrderState
from continuity.shop.selectors import order_history


class OrderChangeShape(shapes.Shape):
    """One line. ``by`` is the crew member, null for the cover calculation. ``state``, ``copies`` and
    ``needed_on`` are there where they are new; ``asked`` is how many copies a question asks for in all, 0
    where it asks whether to call the order off; ``answer`` is the shop's."""

    at: datetime.datetime
    by: UUID | None
    state: OrderState | None
    copies: int | None
    needed_on: datetime.date | None
    asked: int | None
    answer: Answer | None


class OrderHistoryAnswer(shapes.Shape):
    """The oldest first."""

    answer: Literal["order_history"] = "order_history"
    changes: list[OrderChangeShape]


class OrderHistoryView(ProductionView):
    """Each change of an order, dated, and by whom."""

    @extend_schema(operation_id="order_history", responses={200: OrderHistoryAnswer, **ERRORS})
    def get(self, request: Request, production: UUID, order: UUID) -> Response:
        changes = [asdict(change) for change in order_history(order, production)]
        return Response({"answer": "order_history", "changes": changes})
