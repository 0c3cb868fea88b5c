"""How orders and parcels become tables, and who may write them."""

from __future__ import annotations

from typing import cast
from uuid import UUID

from django.db.models import QuerySet

from continuity.deliveries.outgoing import put_out
from continuity.people.documents import Role
from continuity.shop import models
from continuity.shop.documents import (
    OPEN,
    UNDER_WAY,
    Answer,
    OrderDocument,
    OrderState,
    ParcelDocument,
    RaisedBy,
)
from continuity.shop.order_steps import MAKERS, RECEIVERS, at_rest, check_change, check_new, check_taken_back
from continuity.stock.grade import Grade, grade_serves
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row


def write_order(written: Written) -> Aftermath:
    """Raises `Refusal`: collided for a second open order that the cover raises for one appliance, else what
    `order_steps` says of who may do what.
    """
    document, before = cast(OrderDocument, written.document), cast(OrderDocument | None, written.before)
    _check(written, document, before)
    others = models.Order.objects.filter(
        appliance_id=document.appliance, raised_by=RaisedBy.COVER, state__in=OPEN, withdrawn=False
    ).exclude(id=written.record_id)
    if document.raised_by is RaisedBy.COVER and document.state in OPEN and others.exists():
        raise Refusal(Code.collided, "Another order for this appliance stands open.", field="state")
    write_row(
        models.Order,
        written,
        appliance_id=document.appliance,
        mould_id=document.mould,
        raised_by=document.raised_by,
        copies=document.copies,
        pours=document.pours,
        needed_on=document.needed_on,
        latest_start=document.latest_start,
        possible=document.possible,
        state=document.state,
    )
    settled = at_rest(document)
    if settled != document and not written.withdrawn:
        # What is told outside goes with what follows at once.
        return Aftermath(follow_ups={("order", written.record_id): settled})
    if not written.withdrawn or written.entry.withdrawal:
        put_out(
            written.production_id,
            written.record_id,
            written.entry,
            before,
            document,
            taken_back=written.withdrawn,
            by_cover=written.by_server and not _follows_a_person(before, document),
        )
    return Aftermath()


def _check(written: Written, document: OrderDocument, before: OrderDocument | None) -> None:
    if written.by_server:
        return
    role = Role(written.entry.sent_by.role)
    if before is None:
        check_new(document, role)
        return
    if written.entry.withdrawal:
        check_taken_back(before, role)
    asked_meanwhile = any("question" in patch for patch in written.unseen)
    check_change(before, document, role, question_unseen=asked_meanwhile)


def _follows_a_person(before: OrderDocument | None, order: OrderDocument) -> bool:
    """Whether the server writes this because of what somebody has just said: agreed to a question, or sent or
    received a parcel."""
    return before is not None and (
        before.answer is Answer.AGREED or order.state in {OrderState.SENT, OrderState.ARRIVED}
    )


def write_parcel(written: Written) -> Aftermath:
    """Raises `Refusal` (in_another_parcel) for a copy that is in one that has not been received yet."""
    document = cast(ParcelDocument, written.document)
    on_its_way = document.received_at is None and not written.withdrawn
    written.rows.write()
    elsewhere = models.ParcelCopy.objects.filter(copy_id__in=document.copies, on_its_way=True).exclude(
        parcel_id=written.record_id
    )
    if on_its_way and (taken := elsewhere.select_related("copy").order_by("copy__serial").first()):
        raise Refusal(
            Code.in_another_parcel,
            f"{taken.copy.serial} is in another parcel that has not been received.",
            field=f"copies.{taken.copy_id}",
        )
    parcel = write_row(
        models.Parcel,
        written,
        order_id=document.order,
        packed_on=document.packed_on,
        sent_at=document.sent_at,
        expected_on=document.expected_on,
        received_at=document.received_at,
    )
    parcel.copies.all().delete()
    models.ParcelCopy.objects.bulk_create(
        models.ParcelCopy(parcel=parcel, copy_id=copy, arrived=said.arrived or "", on_its_way=on_its_way)
        for copy, said in document.copies.items()
    )
    if document.order is None or not _says_more(cast(ParcelDocument | None, written.before), document):
        return Aftermath()
    order = written.others.document(OrderDocument, document.order)
    state = _state_after_parcels(document.order, order)
    if state is order.state:
        return Aftermath()
    # A question about an order that is out of the shop's hands is nobody's to answer.
    followed = at_rest(order.model_copy(update={"state": state}))
    return Aftermath(follow_ups={("order", document.order): followed})


def _says_more(before: ParcelDocument | None, parcel: ParcelDocument) -> bool:
    """Whether an order may stand elsewhere after this: a note on a parcel moves nothing."""
    told = ("order", "sent_at", "received_at")
    return (
        before is None
        or before.copies.keys() != parcel.copies.keys()
        or any(getattr(before, name) != getattr(parcel, name) for name in told)
    )


def _state_after_parcels(order_id: UUID, order: OrderDocument) -> OrderState:
    """An order is sent when as many copies as it asks for, of its grade or better, have left, and has
    arrived when of an order that is sent nothing is on its way any more; what is missing then is for the
    cover to see."""
    if order.state not in UNDER_WAY | {OrderState.SENT}:
        return order.state
    left = models.Parcel.objects.filter(order=order_id, withdrawn=False).exclude(
        sent_at=None, received_at=None
    )
    copies = models.ParcelCopy.objects.filter(parcel__in=left)
    if order.state in UNDER_WAY and _that_serve(copies, order) < order.copies:
        return order.state
    if not copies.exists() or left.filter(received_at=None).exists():
        return OrderState.SENT
    return OrderState.ARRIVED


def _that_serve(copies: QuerySet[models.ParcelCopy], order: OrderDocument) -> int:
    """How many of these are copies of the order's appliance, and of the grade it asks for or better."""
    own = copies.filter(copy__appliance_id=order.appliance)
    found = own.values_list("copy__grade", "copy__appliance__grade")
    return sum(grade_serves(Grade(grade), order.grade or Grade(usual)) for grade, usual in found)


register(RecordKind("parcel", ParcelDocument, MAKERS | RECEIVERS, write_parcel))
register(RecordKind("order", OrderDocument, MAKERS | RECEIVERS, write_order))
