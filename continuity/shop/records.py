"""How orders become a table, and who may write them."""

from __future__ import annotations

from typing import cast

from continuity.people.documents import Role
from continuity.shop import models
from continuity.shop.documents import OPEN, OrderDocument
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row


def write_order(written: Written) -> Aftermath:
    """Raises `Refusal` (collided) for a second open order for one appliance."""
    document = cast(OrderDocument, written.document)
    others = models.Order.objects.filter(
        appliance_id=document.appliance, state__in=OPEN, withdrawn=False
    ).exclude(id=written.record_id)
    if document.state in OPEN and others.exists():
        raise Refusal(Code.collided, "Another order for this appliance stands open.", field="state")
    write_row(
        models.Order,
        written,
        appliance_id=document.appliance,
        mould_id=document.mould,
        copies=document.copies,
        pours=document.pours,
        needed_on=document.needed_on,
        latest_start=document.latest_start,
        possible=document.possible,
        state=document.state,
    )
    return Aftermath()


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
