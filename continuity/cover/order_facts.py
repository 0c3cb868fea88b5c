"""Reading the orders that stand, and what of them has been made, from the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from uuid import UUID

from continuity.cover.production_facts import OrderFacts
from continuity.cover.statement import Statement
from continuity.shop.documents import OrderDocument, OrderState, RaisedBy
from continuity.shop.models import ParcelCopy
from continuity.stock.grade import Grade, grade_serves
from continuity.stock.models import Copy
from continuity.sync.models import Entry, Record

STANDING = (OrderState.ASKED_FOR, OrderState.TAKEN_ON, OrderState.CASTING, OrderState.SENT)


_ORDERS = Statement(
    lambda production: (
        Record.objects.filter(
            production_id=production,
            kind="order",
            withdrawn=False,
            document__state__in=[state.value for state in STANDING],
        )
        .order_by("id")
        .values_list("id", "document")
    )
)


def read_orders(
    production_id: UUID, grades: dict[str, Grade], appliance_ids: Collection[str] | None = None
) -> tuple[OrderFacts, ...]:
    """Those that stand, of these appliances or of all, by the day they are to be started, then by age.
    `grades` are those of the appliances, by id as text.
    """
    orders = [
        (UUID(key), OrderDocument.model_validate(document, strict=False))
        for key, document in _ORDERS.rows(production_id)
        if appliance_ids is None or str(UUID(document["appliance"])) in appliance_ids
    ]
    begun = {key: order.appliance for key, order in orders if order.state is not OrderState.ASKED_FOR}
    runs = _runs_of(production_id, begun)
    entered = _entered(begun, runs)
    found = []
    for key, order in orders:
        grade = order.grade or grades.get(str(order.appliance))
        if grade is None:
            continue
        found.append(
            OrderFacts(
                id=str(key),
                appliance_id=str(order.appliance),
                state=order.state.value,
                copies=order.copies,
                entered=sum(grade_serves(each, grade) for each in entered[key]),
                runs=tuple(str(run) for run in runs[key]),
                grade=grade,
                mould_id=None if order.mould is None else str(order.mould),
                latest_start=order.latest_start,
                needed_on=order.needed_on,
                expected_on=order.expected_on,
                by_hand=order.raised_by is RaisedBy.HAND,
            )
        )
    return tuple(sorted(found, key=lambda order: order.latest_start or order.needed_on))


def _runs_of(production_id: UUID, orders: Collection[UUID]) -> dict[UUID, list[UUID]]:
    """The cast runs that are for each of the orders."""
    runs: dict[UUID, list[UUID]] = defaultdict(list)
    if orders:
        records = Record.objects.filter(
            production_id=production_id,
            kind="cast_run",
            withdrawn=False,
            document__order__in=[str(order) for order in orders],
        )
        for run, order in records.order_by("id").values_list("id", "document__order"):
            runs[UUID(order)].append(run)
    return runs


def _entered(orders: Mapping[UUID, UUID], runs: dict[UUID, list[UUID]]) -> dict[UUID, list[Grade]]:
    """The grades of the copies there are of each order, its appliance given: cast in one of its runs, in one
    of its parcels, or entered without a cast run since it was taken on.
    """
    if not orders:
        return defaultdict(list)
    copies: dict[UUID, dict[UUID, Grade]] = defaultdict(dict)
    order_of = {run: order for order, of_order in runs.items() for run in of_order}
    if order_of:
        cast = Copy.objects.filter(cast_run_id__in=order_of, withdrawn=False)
        for run, copy, grade in cast.values_list("cast_run_id", "id", "grade"):
            copies[order_of[run]][copy] = Grade(grade)
    packed = ParcelCopy.objects.filter(
        parcel__order_id__in=orders, parcel__withdrawn=False, copy__withdrawn=False
    )
    for order, copy, grade in packed.values_list("parcel__order_id", "copy_id", "copy__grade"):
        if order:
            copies[order][copy] = Grade(grade)
    spoken_for = {copy for of_order in copies.values() for copy in of_order}
    for order, copy, grade in _entered_since(orders):
        if copy not in spoken_for:
            spoken_for.add(copy)
            copies[order][copy] = Grade(grade)
    return defaultdict(list, {order: list(of_order.values()) for order, of_order in copies.items()})


def _entered_since(orders: Mapping[UUID, UUID]) -> Iterator[tuple[UUID, UUID, str]]:
    """(order, copy, grade) of copies entered without a cast run since an order of their appliance was taken
    on, the latest order first.
    """
    steps = Entry.objects.filter(
        record__in=orders, state="applied", patch__state=OrderState.TAKEN_ON.value
    ).order_by("seq")
    taken_on = {order: seq or 0 for order, seq in steps.values_list("record", "seq")}
    if not taken_on:
        return
    loose = Copy.objects.filter(
        appliance_id__in={orders[order] for order in taken_on}, cast_run=None, withdrawn=False
    )
    entries = Entry.objects.filter(
        record__in=loose.values("id"), based_on=None, state="applied", seq__gt=min(taken_on.values())
    )
    entered = {copy: seq or 0 for copy, seq in entries.values_list("record", "seq")}
    latest_first = sorted(taken_on, key=lambda order: -taken_on[order])
    for copy, appliance, grade in loose.filter(id__in=entered).values_list("id", "appliance_id", "grade"):
        for order in latest_first:
            if orders[order] == appliance and entered[copy] > taken_on[order]:
                yield order, copy, grade
                break
