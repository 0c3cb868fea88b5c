"""The page for the production meeting: each appliance's cover and order on one line."""

from __future__ import annotations

from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from continuity.cover.covers import ApplianceCover
from continuity.cover.facts import today_of
from continuity.cover.order_words import counted, day_in_words, percent
from continuity.cover.report_page import Row, report_page
from continuity.cover.selectors import cover_of_production
from continuity.cover.uncounted import uncounted
from continuity.schedule.models import Production
from continuity.shop.models import Order
from continuity.shop.selectors import orders_taken_on

NOTHING = "–"


def report_of(production_id: UUID) -> bytes:
    """A PDF with every appliance, those at risk first by the day. Raises `Production.DoesNotExist`."""
    production = Production.objects.get(id=production_id)
    taken_on = orders_taken_on(production_id)
    today = today_of(production)
    covers = cover_of_production(production_id, today=today)
    # Sorting keeps the order by name among those of one day, and among those not at risk.
    covers.sort(key=lambda found: (found.at_target, found.cover.first_day_at_risk))
    now = timezone.now().astimezone(ZoneInfo(production.time_zone))
    return report_page(
        production.name,
        f"Worked out on {day_in_words(now.date())} at {now:%H:%M} ({production.time_zone}). "
        f"Wanted: {percent(production.cover_target)} sure never to be short.",
        [row(found, taken_on.get(found.appliance_id)) for found in covers],
        uncounted(production_id, today),
    )


def row(found: ApplianceCover, taken_on: Order | None) -> Row:
    """One appliance. An order that the shop has taken on stands as it was taken on."""
    coming = found.plan.in_transit + found.plan.due - found.plan.undated
    at_risk = found.cover.first_day_at_risk
    order, start = _order(found, taken_on)
    return Row(
        at_risk=at_risk is not None,
        cells=(
            found.plan.appliance.name,
            str(found.spares_now),
            str(coming) if coming else NOTHING,
            day_in_words(at_risk) if at_risk else "none",
            percent(found.cover.p_covered) if found.exact else f"at least {percent(found.cover.p_covered)}",
            order,
            start,
        ),
    )


def _order(found: ApplianceCover, taken_on: Order | None) -> tuple[str, str]:
    """What to order, and the latest start."""
    if taken_on is not None:
        start = day_in_words(taken_on.latest_start) if taken_on.latest_start else NOTHING
        order = f"{_copies(taken_on.copies, taken_on.pours)}, taken on"
        more = found.reorder.copies if found.reorder else 0
        # The cover counts what the order still brings: what is wanted beside it is more.
        return (f"{order}; {more} more wanted" if more else order), start
    reorder = found.reorder
    if reorder is None:
        return ("no mould", NOTHING) if found.cover.first_day_at_risk else (NOTHING, NOTHING)
    if reorder.possible:
        if not reorder.copies or reorder.latest_start is None:
            return NOTHING, NOTHING
        return _copies(reorder.copies, reorder.pours), day_in_words(reorder.latest_start)
    best = f"at best {percent(reorder.best_p_covered)}"
    if reorder.still_short:
        best += f", at risk on {day_in_words(reorder.still_short)}"
    order = _copies(reorder.copies, reorder.pours) if reorder.copies else "cannot be made in time"
    return order, f"now; {best}" if reorder.copies else best


def _copies(copies: int, pours: int | None) -> str:
    words = counted(copies, "copy", "copies")
    return f"{words}, {counted(pours, 'pour', 'pours')}" if pours else words
