"""What each number of an appliance's cover rests on: planned applications, log lines, copies by place, and
what would help where the shop cannot make copies in time.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from continuity.cover.assemble import AppliancePlan, comes_on, run_use_by
from continuity.cover.covers import ApplianceCover
from continuity.cover.demand import PlannedApplication
from continuity.cover.estimate import ExtraCopies, extra_copies_for
from continuity.cover.fixes import Fix, Remedy, work_out_fixes
from continuity.cover.order_words import counted, day_in_words, percent
from continuity.cover.plan import DatedCopies
from continuity.cover.production_facts import CopyLot, Place, ProductionFacts
from continuity.cover.reorder import booked


@dataclass(frozen=True)
class LogLine:
    """A copy used: on which sheet, on whom, and how it went. Ids are text."""

    application: str
    date: datetime.date
    performer: str
    look: str
    copy: str
    outcome: str
    why: str


@dataclass(frozen=True)
class SupplyLine:
    """Copies with everything in common. `place` is "on_set", "in_transit", "shop", "run", "order" (still to
    come of an order that stands) or "set_aside"; `on` the date from which they count, None for those that are
    on set and those that nobody has said a date for.
    """

    place: str
    copies: int
    on: datetime.date | None
    use_by: datetime.date | None
    serials: tuple[str, ...] = ()
    scene: str | None = None
    cast_run: str | None = None
    order: str | None = None


@dataclass(frozen=True)
class Reasons:
    """`days` are the applications still to do by date. The copies of `days`, the lines of `log` by outcome
    and the copies of `supply` by place add up to the numbers of the cover. `extra` are the spares that the
    copies of all `days` ask for.
    """

    days: Mapping[datetime.date, tuple[PlannedApplication, ...]]
    log: tuple[LogLine, ...]
    supply: tuple[SupplyLine, ...]
    extra: ExtraCopies
    fixes: tuple[tuple[Fix, str], ...]


def reasons_of(
    found: ApplianceCover, facts: ProductionFacts, covers: Iterable[ApplianceCover], log: Iterable[LogLine]
) -> Reasons:
    """The reasons behind a cover that was worked out from these facts; `covers` are those of the appliances
    cast in the same mould.
    """
    days: dict[datetime.date, list[PlannedApplication]] = {}
    for application in found.plan.applications:
        days.setdefault(application.date, []).append(application)
    fixes = _fixes(found, facts, covers)
    return Reasons(
        days={date: tuple(applications) for date, applications in sorted(days.items())},
        log=tuple(log),
        supply=_supply(found.plan, facts.today, facts.settings.transport_days),
        extra=extra_copies_for(found.plan.estimate, sum(found.needed.values()), found.plan.target),
        fixes=tuple((fix, in_words(fix, found.plan)) for fix in fixes),
    )


def _supply(plan: AppliancePlan, today: datetime.date, transport_days: int) -> tuple[SupplyLine, ...]:
    """Free copies from the set to the shop, each place by date, then runs and orders, then what is set
    aside.
    """
    places = list(Place)
    last = datetime.date.max

    def by_date(lot: CopyLot) -> tuple[int, datetime.date, datetime.date]:
        return places.index(lot.place), comes_on(lot, today, transport_days) or last, lot.use_by or last

    def line(lot: CopyLot, place: str) -> SupplyLine:
        on = None if lot.place is Place.ON_SET else comes_on(lot, today, transport_days)
        kept = lot.set_aside_for if place == "set_aside" else None
        return SupplyLine(place, lot.copies, on, lot.use_by, lot.serials, scene=kept)

    lines = [line(lot, lot.place.value) for lot in sorted(plan.lots, key=by_date)]
    for run in plan.runs:
        due, use_by = max(run.due_on, today), run_use_by(plan.appliance, run)
        lines.append(SupplyLine("run", run.poured, due, use_by, cast_run=run.id))
    for promise in plan.promises:
        order = promise.order.id
        lines += [SupplyLine("order", each.copies, each.date, None, order=order) for each in promise.arrivals]
        if promise.undated:
            lines.append(SupplyLine("order", promise.undated, None, None, order=order))
    lines += [line(lot, "set_aside") for lot in sorted(plan.kept, key=by_date)]
    return tuple(lines)


def _fixes(
    found: ApplianceCover, facts: ProductionFacts, covers: Iterable[ApplianceCover]
) -> tuple[Fix, ...]:
    """What would help, with the mould as busy as the orders of the others make it."""
    plan = found.plan
    if found.reorder is None or found.reorder.possible or plan.shop is None or plan.mould is None:
        return ()
    others = [
        other.reorder
        for other in covers
        if other is not found and other.reorder and other.plan.mould and other.plan.mould.id == plan.mould.id
    ]
    serving = {*plan.lots, *plan.kept}
    lower = [
        lot
        for lot in facts.lots
        if lot.appliance_id == plan.appliance.id
        and lot.place is Place.ON_SET
        and lot.set_aside_for is None
        and lot not in serving
    ]
    copies = [DatedCopies(lot.copies, lot.use_by) if lot.use_by else lot.copies for lot in lower]
    return work_out_fixes(plan.plan, booked(plan.shop, others), copies, plan.grades[0])


def in_words(fix: Fix, plan: AppliancePlan) -> str:
    """A remedy and what comes of it, in one sentence."""
    reorder = fix.reorder
    if not fix.enough:
        result = f"at best {percent(fix.p_covered)} sure"
        if reorder.still_short:
            result += f", still at risk on {day_in_words(reorder.still_short)}"
    elif reorder.copies:
        result = f"{counted(reorder.copies, 'copy', 'copies')} in {counted(reorder.pours, 'pour', 'pours')}"
        if reorder.latest_start:
            result += f", started by {day_in_words(reorder.latest_start)},"
        result += f" make it {percent(reorder.p_covered)} sure"
    else:
        result = f"{percent(fix.p_covered)} sure without an order"
    return f"{_remedy(fix, plan)}: {result}."


def _remedy(fix: Fix, plan: AppliancePlan) -> str:
    if fix.remedy is Remedy.ONE_MORE_MOULD:
        return f"One more mould like {plan.mould.name if plan.mould else 'the one there is'}"
    if fix.remedy is Remedy.LOWER_GRADE:
        return f"{counted(fix.copies, 'copy', 'copies')} of a lower grade on set accepted"
    if fix.moved is None or fix.to is None:
        raise ValueError("A shoot day that is moved has two dates.")
    return f"The shoot day of {day_in_words(fix.moved)} moved to {day_in_words(fix.to)}"
