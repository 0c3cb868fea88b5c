"""How appliances, moulds, cast runs, copies, counts and materials become tables, and who may write them."""

from __future__ import annotations

from typing import Any, cast
from uuid import UUID

from continuity.people.documents import Role
from continuity.schedule.documents import ProductionDocument
from continuity.shop.batch import decimal_of
from continuity.stock import models
from continuity.stock.copy_states import change_by, restate_copies
from continuity.stock.documents import (
    ApplianceDocument,
    CastRunDocument,
    CopyDocument,
    CountDocument,
    MaterialDocument,
    MouldDocument,
)
from continuity.stock.draws import draws_of_run, lots_without_amount, ratio_of, recipe_amounts
from continuity.stock.lots import restate_lots, write_draws
from continuity.stock.run_result import result_of, run_warnings
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import keep_apart, write_row

MAKERS = frozenset({Role.SHOP, Role.DEPARTMENT_HEAD})


def write_appliance(written: Written) -> Aftermath:
    document = cast(ApplianceDocument, written.document)
    write_row(
        models.Appliance,
        written,
        name=document.name,
        performer_id=document.performer,
        grade=document.grade,
        encapsulator=document.encapsulator,
        edge_solvent=document.edge_solvent,
        copies_per_application=document.copies_per_application,
        wear_limit_minutes=document.wear_limit_minutes,
        shelf_life_days=document.shelf_life_days,
    )
    return Aftermath()


def write_mould(written: Written) -> Aftermath:
    document = cast(MouldDocument, written.document)
    mould = write_row(
        models.Mould,
        written,
        name=document.name,
        cavities=document.cavities,
        cycles_per_day=document.cycles_per_day,
        cycle_minutes=document.cycle_minutes,
    )
    mould.appliances.set(models.Appliance.objects.filter(id__in=document.appliances))
    return Aftermath()


def write_cast_run(written: Written) -> Aftermath:
    """A run, its result, and what it takes from the lots that went into it."""
    document = cast(CastRunDocument, written.document)
    result = result_of(document)
    write_row(
        models.CastRun,
        written,
        mould_id=document.mould,
        appliance_id=document.appliance,
        cast_on=document.cast_on,
        due_on=document.due_on,
        copies_planned=document.copies_planned,
        good=result.good,
        lower_grade=result.lower_grade,
        rejected=result.rejected,
    )
    read = written.others.document
    appliance = read(ApplianceDocument, document.appliance)
    production = read(ProductionDocument, written.production_id)
    materials = {lot.material: read(MaterialDocument, lot.material) for lot in document.lots.values()}
    waste, step = map(decimal_of, (production.pour_waste_percent, production.scale_resolution_grams))
    recipe = recipe_amounts(appliance, document.copies_planned, waste, step)
    draws = draws_of_run(document, materials, recipe)
    warnings = run_warnings(
        document,
        ratio=ratio_of(appliance),
        tolerance_percent=decimal_of(production.ratio_tolerance_percent),
        cavities=read(MouldDocument, document.mould).cavities,
        materials=materials,
        without_amount=lots_without_amount(document, materials, draws),
    )
    stale = write_draws(written, document.cast_on, draws)
    return Aftermath(derived={"warnings": warnings}, stale=stale)


def write_copy(written: Written) -> Aftermath:
    """A new copy, or news of one. What was said is kept as ``told_state``; applications overrule it."""
    document = cast(CopyDocument, written.document)
    refusal = Refusal(Code.serial_taken, f"There is a copy {document.serial} already.", field="serial")
    keep_apart(models.Copy, written, refusal, serial=document.serial)
    columns = {
        "appliance_id": document.appliance,
        "serial": document.serial,
        "grade": document.grade,
        "told_state": document.state,
        "cast_run_id": document.cast_run,
        "cast_on": document.cast_on,
        "use_by": document.use_by,
        "expected_on": document.expected_on,
        "set_aside_for_id": document.set_aside_for,
        "withdrawn": written.withdrawn,
    }
    if written.before is None:
        written.rows.add(
            models.Copy(
                id=written.record_id, production_id=written.production_id, state=document.state, **columns
            ),
            change_by(written.entry, written.record_id, document.state),
        )
        return Aftermath(derived={"state": document.state.value, "applications": []})
    models.Copy.objects.filter(id=written.record_id).update(**columns)
    restated = restate_copies([written.record_id], written.entry)
    return Aftermath(derived=restated[written.record_id])


def write_count(written: Written) -> Aftermath:
    """A count is read as a record and has no table: the copies it found or did not are told by their own."""
    return Aftermath()


def write_material(written: Written) -> Aftermath:
    document = cast(MaterialDocument, written.document)
    write_row(
        models.Material,
        written,
        name=document.name,
        use=document.use,
        solvent=document.solvent or "",
        lot=document.lot or "",
        expires_on=document.expires_on,
    )
    derived: dict[UUID, dict[str, Any]] = restate_lots({written.record_id: document})
    return Aftermath(derived=derived.get(written.record_id, {}))


register(RecordKind("appliance", ApplianceDocument, MAKERS, write_appliance))
register(RecordKind("mould", MouldDocument, MAKERS, write_mould))
register(RecordKind("cast_run", CastRunDocument, MAKERS, write_cast_run))
register(RecordKind("copy", CopyDocument, MAKERS | {Role.SET_ARTIST}, write_copy))
register(RecordKind("count", CountDocument, MAKERS | {Role.SET_ARTIST}, write_count))
register(
    RecordKind("material", MaterialDocument, MAKERS | {Role.SET_ARTIST}, write_material, restate=restate_lots)
)
