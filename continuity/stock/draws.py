"""What a cast run takes from each lot.

A lot's own ``amount`` counts where it is written. Otherwise gel parts are what the pours weighed; what was
not weighed, or is sprayed, is what the recipe asks for. Several lots of one part share it evenly.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from uuid import UUID

from continuity.shop.batch import NOTHING, Ratio, decimal_of, encapsulator, gel_of_one_pour
from continuity.stock.documents import (
    ApplianceDocument,
    CastRunDocument,
    MaterialDocument,
    MaterialUnit,
    MaterialUse,
)
from continuity.stock.edge import CAST_FROM_GEL

WEIGHED = {
    MaterialUse.GEL_A: "a_grams",
    MaterialUse.GEL_B: "b_grams",
    MaterialUse.DEADENER: "deadener_grams",
}
_UNITS = dict.fromkeys(WEIGHED, MaterialUnit.GRAMS) | {
    MaterialUse.CAP_PLASTIC: MaterialUnit.MILLILITRES,
    MaterialUse.EDGE_SOLVENT: MaterialUnit.MILLILITRES,
}

Amounts = Mapping[MaterialUse, Decimal]


def has_begun(run: CastRunDocument) -> bool:
    """Whether anything has been used yet; a run that is only planned takes nothing."""
    return run.started_at is not None or run.good is not None or bool(run.pours)


def ratio_of(appliance: ApplianceDocument) -> Ratio | None:
    """The parts by weight of an appliance cast from a gel; None when they are not said or it is not."""
    if appliance.encapsulator not in CAST_FROM_GEL or appliance.deadener_parts is None:
        return None
    return Ratio(*map(decimal_of, (appliance.parts_a, appliance.parts_b, appliance.deadener_parts)))


def recipe_amounts(
    appliance: ApplianceDocument, pours: int, waste_percent: Decimal, step: Decimal
) -> dict[MaterialUse, Decimal]:
    """Grams of gel and millilitres of encapsulator that so many pours in one cycle ask for, as far as the
    appliance says."""
    found: dict[MaterialUse, Decimal] = {}
    ratio = ratio_of(appliance)
    if ratio and appliance.copy_grams is not None:
        gel = gel_of_one_pour(decimal_of(appliance.copy_grams), waste_percent, ratio, step).times(pours)
        found |= {
            MaterialUse.GEL_A: gel.a,
            MaterialUse.GEL_B: gel.b,
            MaterialUse.DEADENER: gel.deadener,
        }
    coat = appliance.coat_millilitres_per_100_square_centimetres
    area = appliance.area_square_centimetres
    if appliance.encapsulator in CAST_FROM_GEL and coat is not None and area is not None:
        parts = decimal_of(appliance.cap_plastic_parts), decimal_of(appliance.alcohol_parts)
        sides = [
            encapsulator(decimal_of(area) * pours, coats, decimal_of(coat), *parts, Decimal(1))
            for coats in (appliance.coats_in_mould, appliance.coats_on_back)
        ]
        found[MaterialUse.CAP_PLASTIC] = sum((side.cap_plastic for side in sides), NOTHING)
        found[MaterialUse.EDGE_SOLVENT] = sum((side.thinner for side in sides), NOTHING)
    return found


def draws_of_run(
    run: CastRunDocument, materials: Mapping[UUID, MaterialDocument], recipe: Amounts
) -> dict[UUID, Decimal]:
    """What the run takes from each lot, in the lot's unit; lots of which nothing can be said are left out."""
    if not has_begun(run):
        return {}
    draws: dict[UUID, Decimal] = defaultdict(Decimal)
    said: dict[MaterialUse, Decimal] = defaultdict(Decimal)
    unsaid: dict[MaterialUse, list[UUID]] = defaultdict(list)
    for lot in run.lots.values():
        material = materials[lot.material]
        if lot.amount is not None:
            draws[lot.material] += decimal_of(lot.amount)
            said[material.use] += decimal_of(lot.amount)
        elif material.unit is not None and material.unit is _UNITS.get(material.use):
            unsaid[material.use].append(lot.material)
    for use, lots in unsaid.items():
        used = _weighed(run, use)
        if used is None:
            used = recipe.get(use)
        if used is not None:
            for material_id in lots:
                draws[material_id] += max(NOTHING, used - said[use]) / len(lots)
    return dict(draws)


def lots_without_amount(
    run: CastRunDocument, materials: Mapping[UUID, MaterialDocument], draws: Mapping[UUID, Decimal]
) -> list[UUID]:
    """Lots with an amount to draw down, of which nobody can say how much was used."""
    if not has_begun(run):
        return []
    lots = dict.fromkeys(lot.material for lot in run.lots.values())
    return [lot for lot in lots if lot not in draws and materials[lot].amount is not None]


def _weighed(run: CastRunDocument, use: MaterialUse) -> Decimal | None:
    """Grams of a part by the pours, or None when it was not weighed."""
    field = WEIGHED.get(use)
    if field is None:
        return None
    weights = [getattr(pour, field) for pour in run.pours.values()]
    known = [decimal_of(weight) for weight in weights if weight is not None]
    return sum(known, NOTHING) if known else None
