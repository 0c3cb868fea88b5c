"""Orders that stand, and how far the shop is with one."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Sum

from continuity.shop.documents import OPEN, UNDER_WAY, OrderDocument, OrderState, RaisedBy
from continuity.shop.history import Change, Written, history_of
from continuity.shop.models import Order
from continuity.shop.order_question import Progress
from continuity.stock.grade import Grade, grade_serves
from continuity.stock.models import CastRun, Copy
from continuity.sync.desk import SERVER_DEVICE
from continuity.sync.models import Entry, Record
from continuity.sync.refusal import Code, Refusal


def open_orders(production_id: UUID) -> dict[str, UUID]:
    """The open order that the cover raised for each appliance that has one, by the appliance's id as text."""
    orders = Order.objects.filter(
        production_id=production_id, withdrawn=False, state__in=OPEN, raised_by=RaisedBy.COVER
    )
    return {str(appliance): order for appliance, order in orders.values_list("appliance_id", "id")}


def orders_taken_on(production_id: UUID) -> dict[str, Order]:
    """The order the cover raised for each appliance that the shop has under way, by the appliance's id as
    text."""
    orders = Order.objects.filter(
        production_id=production_id, withdrawn=False, state__in=UNDER_WAY, raised_by=RaisedBy.COVER
    )
    return {str(order.appliance_id): order for order in orders}


def progress_of(order_id: UUID, order: OrderDocument) -> Progress:
    """What there is of an order since it was taken on: copies of its appliance entered, of its grade or
    better, and those planned in runs that are due: its own, and those since of which no order is said. The
    cover reckoned with earlier ones when it asked for the order."""
    taken_on = (
        Entry.objects.filter(record=order_id, state="applied", patch__state=OrderState.TAKEN_ON.value)
        .order_by("-seq")
        .first()
    )
    if taken_on is None:
        return Progress()
    copies = Copy.objects.filter(appliance=order.appliance, withdrawn=False)
    entered = Entry.objects.filter(
        record__in=copies.values("id"), based_on=None, state="applied", seq__gt=taken_on.seq
    ).values("record")
    grades = copies.filter(id__in=entered).values_list("grade", flat=True)
    made = sum(order.grade is None or grade_serves(Grade(grade), order.grade) for grade in grades)
    runs = CastRun.objects.filter(appliance=order.appliance, good=None, withdrawn=False)
    since = set(
        Entry.objects.filter(
            record__in=runs.values("id"), based_on=None, state="applied", seq__gt=taken_on.seq
        ).values_list("record", flat=True)
    )
    orders = Record.objects.filter(id__in=runs.values("id")).values_list("id", "document__order")
    own = [run for run, of in orders if of == str(order_id) or (of is None and run in since)]
    return Progress(made, runs.filter(id__in=own).aggregate(due=Sum("copies_planned"))["due"] or 0)


def order_history(order_id: UUID, production_id: UUID) -> list[Change]:
    """What was said of an order so far, the oldest first. Raises `Refusal` (not_found) when there is no such
    order in this production."""
    entries = Entry.objects.filter(
        record=order_id, kind="order", production=production_id, state="applied"
    ).order_by("seq")
    found = [
        Written(
            entry.happened_at,
            entry.made_by_id,
            entry.device == SERVER_DEVICE,
            entry.patch,
            entry.withdrawal,
        )
        for entry in entries
    ]
    if not found:
        raise Refusal(Code.not_found, "There is no such order.")
    return history_of(found)
