"""What is left of each lot: what it held, or was last weighed, less what cast runs and applications took
since. It is worked out from all of them every time, so an entry that comes twice, or is taken back, cannot
count twice."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Count, Q, Sum

from continuity.shop.batch import NOTHING, decimal_of
from continuity.stock.documents import MaterialDocument
from continuity.stock.models import Draw
from continuity.stock.taking import weighings_by_day
from continuity.sync.document import Document
from continuity.sync.registry import Written

PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Taken:
    """In the lot's unit by cast runs and others that said how much, and by so many applications; after the
    day the lot was last weighed."""

    said: Decimal = NOTHING
    applications: int = 0


def write_draws(written: Written, date: datetime.date, draws: Mapping[UUID, Decimal | None]) -> set[UUID]:
    """Write what a record takes from lots, in place of what it took before. None is the amount that the lot
    says an application takes. Returns the lots of which there is now something else left."""
    touched = set(draws)
    if written.before is not None:
        old = Draw.objects.filter(source=written.record_id)
        touched |= set(old.values_list("material_id", flat=True))
        old.delete()
    if not written.withdrawn:
        written.rows.add(
            *(
                Draw(
                    material_id=material,
                    kind=written.entry.kind,
                    source=written.record_id,
                    date=date,
                    amount=None if amount is None else amount.quantize(PLACES),
                )
                for material, amount in draws.items()
            )
        )
    return touched


def taken_from(materials: Mapping[UUID, MaterialDocument]) -> dict[UUID, Taken]:
    """What has been taken from these lots; those that nothing was taken from are left out."""
    weighed = {key: found[-1][0] for key, lot in materials.items() if (found := weighings_by_day(lot))}
    wanted = Q(material_id__in=materials.keys() - weighed.keys())
    for material_id, day in weighed.items():
        wanted |= Q(material_id=material_id, date__gt=day)
    rows = Draw.objects.filter(wanted).values("material_id")
    sums = rows.annotate(said=Sum("amount"), applications=Count("id", filter=Q(amount=None)))
    return {row["material_id"]: Taken(row["said"] or NOTHING, row["applications"]) for row in sums}


def left_of(material: MaterialDocument, taken: Taken) -> Decimal | None:
    """What is left of a lot, in its unit; None when nobody has said what it held, nor weighed it. Below
    nothing, more has been written down than there was."""
    weighed = weighings_by_day(material)
    held = weighed[-1][1] if weighed else material.amount
    if held is None:
        return None
    each = decimal_of(material.amount_per_application or 0)
    return decimal_of(held) - taken.said - each * taken.applications


def restate_lots(materials: Mapping[UUID, Document]) -> dict[UUID, dict[str, Any]]:
    """The derived values of these lots; of one that nobody has counted or weighed there are none."""
    counted = {
        material_id: material
        for material_id, material in materials.items()
        if isinstance(material, MaterialDocument) and (material.amount is not None or material.weighings)
    }
    if not counted:
        return {}
    taken = taken_from(counted)
    derived: dict[UUID, dict[str, Any]] = {}
    for material_id, material in counted.items():
        left = left_of(material, taken.get(material_id, Taken()))
        if left is not None:
            derived[material_id] = {"left": {"amount": float(left)}}
    return derived
