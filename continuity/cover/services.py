"""Orders that appear by themselves: raised when the cover of an appliance falls under its target, grown and
shrunk with it while the shop has not taken them on, called off when they are needed no more. What the shop
has taken on is not changed; what the cover would have otherwise is asked of the shop.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from dataclasses import replace
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from uuid6 import uuid7

from continuity.cover.covers import ApplianceCover, covers_of
from continuity.cover.facts import read_facts, today_of
from continuity.cover.order_words import why_ordered
from continuity.cover.production_facts import ProductionFacts
from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.schedule.models import Production
from continuity.shop.documents import OPEN, UNDER_WAY, OrderDocument, OrderState, RaisedBy
from continuity.shop.order_question import with_question
from continuity.shop.selectors import progress_of
from continuity.sync.models import Record
from continuity.sync.selectors import document_of
from continuity.sync.services import write_server_record

READINGS = 4
"""Times that a production is read while entries come in, before it is held still to be read."""

TOLD = 10_000
"""A chance in an order is told in parts of ten thousand: less of a change is not told to every phone."""


def to_be_reconsidered(production: Production) -> bool:
    """Whether something has been stored, or a day has begun, since its orders were worked out."""
    return production.last_seq != production.reconsidered_seq or production.reconsidered_on != today_of(
        production
    )


def reconsider_orders(production_id: UUID, *, today: datetime.date | None = None) -> int:
    """Work out what the shop must make and bring the orders in line. Returns how many orders were written.

    An order is changed only while it is asked for. One that is taken on stands: a change is asked of the
    shop, and no second order is raised for its appliance. Orders by hand are left alone. Working it out takes
    a while and is done with nothing locked; then, with the production's row locked, what is found is compared
    with the orders as they stand. So running it twice, or from two servers at once, leaves one order. What
    was worked out from an older state than somebody else's is dropped. Raises `Production.DoesNotExist`.
    """
    seq, facts = _read_in_peace(production_id, today)
    wanted = {
        UUID(found.appliance_id): document
        for found in covers_of(_without_own_orders(facts))
        if (document := order_for(found)) is not None
    }
    with transaction.atomic():
        production = Production.objects.select_for_update().get(id=production_id)
        if production.reconsidered_seq > seq:
            return 0
        before = production.last_seq
        written = 0
        for record, document in _changes(production_id, wanted):
            write_server_record(
                production_id=production_id,
                by=_head(production_id),
                kind="order",
                record=record,
                document=document,
            )
            written += 1
        production.refresh_from_db(fields=["last_seq"])
        # What came in meanwhile is not in what was worked out: then it is to be looked at again.
        production.reconsidered_seq = production.last_seq if before == seq else seq
        production.reconsidered_on = facts.today
        production.save(update_fields=["reconsidered_seq", "reconsidered_on"])
    return written


def _read_in_peace(production_id: UUID, today: datetime.date | None) -> tuple[int, ProductionFacts]:
    """The facts with the place in the feed they stand for: nothing was stored while they were read."""
    for _ in range(READINGS):
        before = _last_seq(production_id)
        facts = read_facts(production_id, today=today)
        if _last_seq(production_id) == before:
            return before, facts
    with transaction.atomic():
        production = Production.objects.select_for_update().get(id=production_id)
        return production.last_seq, read_facts(production_id, today=today)


def _without_own_orders(facts: ProductionFacts) -> ProductionFacts:
    """The facts as if nothing the cover has asked for were under way: what is wanted in all is then compared
    with the order that stands."""
    own = [order for order in facts.orders if not order.by_hand and order.state in UNDER_WAY]
    return replace(facts, orders=tuple(order for order in facts.orders if order not in own))


def _last_seq(production_id: UUID) -> int:
    return Production.objects.values_list("last_seq", flat=True).get(id=production_id)


def _head(production_id: UUID) -> Membership:
    """In whose name orders are written: of the department heads the one who has been there longest."""
    heads = Membership.objects.filter(production_id=production_id, role=Role.DEPARTMENT_HEAD, active=True)
    return heads.order_by("id")[0]


def order_for(found: ApplianceCover) -> OrderDocument | None:
    """The order an appliance needs, None when it needs none or nothing can be made of it."""
    reorder, mould, at_risk = found.reorder, found.plan.mould, found.cover.first_day_at_risk
    if reorder is None or mould is None or at_risk is None or reorder.copies == 0:
        return None
    return OrderDocument(
        appliance=UUID(found.appliance_id),
        raised_by=RaisedBy.COVER,
        grade=found.plan.grades[0],
        mould=UUID(mould.id),
        copies=reorder.copies,
        pours=reorder.pours,
        needed_on=at_risk,
        latest_start=reorder.latest_start,
        possible=reorder.possible,
        p_covered_now=_told(found.cover.p_covered),
        best_p_covered=_told(reorder.best_p_covered),
        still_short=reorder.still_short,
        why=why_ordered(found),
    )


def _told(chance: float) -> float:
    """Never rounded up: what is almost sure is not sure."""
    return math.floor(chance * TOLD + 1e-6) / TOLD


def _changes(production_id: UUID, wanted: dict[UUID, OrderDocument]) -> Iterator[tuple[UUID, OrderDocument]]:
    """Each order to write: those that stand and change, then new ones."""
    standing: set[UUID] = set()
    records = Record.objects.filter(
        production_id=production_id,
        kind="order",
        withdrawn=False,
        document__state__in=sorted(state.value for state in OPEN),
    )
    for record in records.order_by("id"):
        order = document_of(record, OrderDocument)
        if order.raised_by is not RaisedBy.COVER:
            continue
        standing.add(order.appliance)
        found = wanted.get(order.appliance)
        if order.state in UNDER_WAY:
            changed = with_question(order, found, progress_of(record.id, order), timezone.now())
        elif found is None:
            changed = order.model_copy(update={"state": OrderState.CALLED_OFF})
        else:
            changed = found.model_copy(update={"note": order.note, "expected_on": order.expected_on})
        if changed != order:
            yield record.id, changed
    for appliance, document in wanted.items():
        if appliance not in standing:
            yield uuid7(), document
