"""The labels of copies, read from a production's tables, on the sheet that its shop prints on."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from continuity.schedule.documents import ProductionDocument
from continuity.shop.labels import Label, NoRoom, Sheet, label_sheet
from continuity.stock.models import Copy
from continuity.sync.refusal import Code, Refusal


def sheet_of(production: ProductionDocument) -> Sheet:
    """The sheet as the production says it is."""
    return Sheet(
        page=production.label_page.value,
        rows=production.label_rows,
        columns=production.label_columns,
        margin_top=production.label_margin_top_millimetres,
        margin_side=production.label_margin_side_millimetres,
        gap_across=production.label_gap_across_millimetres,
        gap_down=production.label_gap_down_millimetres,
    )


def labels_pdf(
    production_id: UUID, copy_ids: Sequence[UUID], sheet: Sheet, skip: int, app_address: str
) -> bytes:
    """Labels of these copies, in the order given, from place ``skip`` + 1 on. ``app_address`` is where
    phones open the app: the codes lead there.

    Raises `Refusal`: not_found for a copy that is not the production's, not_a_request for a sheet with too
    little room.
    """
    copies = Copy.objects.filter(production_id=production_id, withdrawn=False, id__in=copy_ids)
    found = {copy.id: copy for copy in copies.select_related("appliance__performer")}
    missing = [copy_id for copy_id in copy_ids if copy_id not in found]
    if missing:
        raise Refusal(Code.not_found, f"There is no copy with the id {missing[0]}.", field="copies")
    labels = [_label(found[copy_id], app_address) for copy_id in copy_ids]
    try:
        return label_sheet(sheet, labels, skip)
    except NoRoom as fault:
        raise Refusal(Code.not_a_request, str(fault), field="rows") from None


def _label(copy: Copy, app_address: str) -> Label:
    performer = copy.appliance.performer
    return Label(
        address=f"{app_address}/#/copy/{copy.id}",
        serial=copy.serial,
        appliance=copy.appliance.name,
        performer=performer.name if performer else None,
        grade=copy.grade,
        cast_on=copy.cast_on,
        use_by=copy.use_by,
    )
