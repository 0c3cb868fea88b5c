"""How orders become a table, and who may write them."""

from __future__ import annotations

from typing import cast

from continuity.people.documents import Role
from continuity.shop import models
from continuity.shop.documents import OPEN, OrderDocument, ParcelDocument, RaisedBy
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row


def write_order(written: Written) -> Aftermath:
    """Raises `Refusal` (collided) for a second open order for one appliance."""
    document = cast(OrderDocument, written.document)
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
    return Aftermath()


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
    return Aftermath()


register(
    RecordKind(
        "parcel",
        ParcelDocument,
        frozenset({Role.SHOP, Role.DEPARTMENT_HEAD, Role.SET_ARTIST}),
        write_parcel,
    )
)
register(
    RecordKind(
        "order",
        OrderDocument,
        frozenset({Role.SHOP, Role.DEPARTMENT_HEAD}),
        write_order,
        made_on_server=True,
        writable_fields=frozenset({"state", "note"}),
    )
)
