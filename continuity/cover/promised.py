"""What orders that stand will bring: which copies, on which dates, and the pours that the shop has to make
for them.

An order that the shop has taken on, is casting or has sent counts with the supply, so that nothing is asked
for twice. Its copies count as sure to come, as those of any order do (`reorder.py`). What of it has been
entered as copies, or is in a cast run that is due, counts there and no more here. One that is only asked for
brings nothing: nobody has started.
"""

from __future__ import annotations

import datetime
import math
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace

from continuity.cover.consumption import Beta
from continuity.cover.plan import Arrival
from continuity.cover.production_facts import (
    ASKED_FOR,
    CASTING,
    SENT,
    MouldFacts,
    OrderFacts,
    ProductionFacts,
)
from continuity.cover.reorder import MOST_DAYS_AHEAD
from continuity.cover.shop import Making, Mould, PourDay, Shop

_DAY = datetime.timedelta(days=1)
_FIRST_LOOK = 30


@dataclass(frozen=True)
class Promise:
    """What is still to come of an order. `arrivals` by date; `undated` copies have no date and count for
    nothing. `pours` are those still to be made for it in the mould `mould_id`.
    """

    order: OrderFacts
    arrivals: tuple[Arrival, ...]
    undated: int = 0
    mould_id: str | None = None
    pours: tuple[PourDay, ...] = ()

    @property
    def copies(self) -> int:
        return self.undated + sum(arrival.copies for arrival in self.arrivals)


def promises_of(facts: ProductionFacts) -> dict[str, tuple[Promise, ...]]:
    """By appliance, what the orders that stand still bring. In a mould one order comes after another."""
    moulds = {mould.id: mould for mould in facts.moulds}
    shops: dict[str, Shop] = {}
    found: dict[str, list[Promise]] = defaultdict(list)
    for order in facts.orders:
        outstanding = still_to_come(order, facts)
        if not outstanding:
            continue
        mould = moulds.get(order.mould_id or "") or mould_of(facts, order.appliance_id)
        if mould is None:
            promise = _by_a_date(order, outstanding, facts)
        else:
            shop = shops.get(mould.id) or shop_for(facts, mould)
            promise = _made(order, outstanding, facts, shop, mould.id)
            pours = Counter(shop.booked)
            pours.update({day.date: day.pours for day in promise.pours})
            shops[mould.id] = replace(shop, booked=dict(pours))
        found[order.appliance_id].append(promise)
    return {appliance: tuple(promises) for appliance, promises in found.items()}


def still_to_come(order: OrderFacts, facts: ProductionFacts) -> int:
    """Good copies of an order that are neither entered as copies nor in a cast run that is due. Of such a run
    as many are counted as pass on average, rounded up. When an order is sent and some of its copies are
    known, those are all there are.
    """
    if order.state == ASKED_FOR:
        return 0
    due = [run for run in facts.runs if run.id in order.runs]
    if order.state == SENT and (order.entered or due):
        return 0
    moulds = {mould.id: mould for mould in facts.moulds}
    passing = sum(math.ceil(run.poured * yield_of(facts, moulds.get(run.mould_id)).mean) for run in due)
    return max(0, order.copies - order.entered - passing)


def yield_of(facts: ProductionFacts, mould: MouldFacts | None) -> Beta:
    """The belief in a mould's yield."""
    prior = facts.settings.yield_prior
    if mould is None:
        return prior
    return Beta(prior.good + mould.good, prior.spoiled + mould.poured - mould.good)


def mould_of(facts: ProductionFacts, appliance_id: str) -> MouldFacts | None:
    """The mould an appliance is made in: of several the one with most pours a day."""
    moulds = [mould for mould in facts.moulds if appliance_id in mould.appliance_ids]
    return max(moulds, key=lambda mould: (mould.pours_a_day, mould.id), default=None)


def shop_for(
    facts: ProductionFacts, mould: MouldFacts, promises: Mapping[str, tuple[Promise, ...]] | None = None
) -> Shop:
    """The shop with this mould, from today on. Cast runs still to be poured have their pours booked, and so
    have the orders that are promised.
    """
    settings = facts.settings
    booked: Counter[datetime.date] = Counter()
    for run in facts.runs:
        if run.mould_id == mould.id and run.cast_on >= facts.today:
            booked[run.cast_on] += run.poured
    for of_appliance in (promises or {}).values():
        for promise in of_appliance:
            if promise.mould_id == mould.id:
                booked.update({day.date: day.pours for day in promise.pours})
    return Shop(
        mould=Mould(
            cavities=mould.cavities,
            cycles_per_day=mould.cycles_per_day,
            good=mould.good,
            poured=mould.poured,
            prior=settings.yield_prior,
            confidence=settings.pour_confidence,
        ),
        today=facts.today,
        transport_days=settings.transport_days,
        days_off=settings.dates_off,
        weekdays_off=settings.weekdays_off,
        booked=dict(booked),
    )


def _by_a_date(order: OrderFacts, outstanding: int, facts: ProductionFacts) -> Promise:
    """All on one date: that on which they are expected, or else are needed, unless it has gone by."""
    if order.expected_on is not None:
        return Promise(order, (Arrival(max(order.expected_on, facts.today), outstanding),))
    if order.needed_on < facts.today:
        return Promise(order, (), undated=outstanding)
    return Promise(order, (Arrival(order.needed_on, outstanding),))


def _made(order: OrderFacts, outstanding: int, facts: ProductionFacts, shop: Shop, mould_id: str) -> Promise:
    if order.state == SENT:
        on = order.expected_on or facts.today + shop.transport_days * _DAY
        return Promise(order, (Arrival(max(on, facts.today), outstanding),))
    making, start = _making(order, outstanding, shop)
    pours, arrivals = making.schedule(making.most, start), making.arrivals(making.most, start)
    if order.expected_on is not None:
        arrivals = (Arrival(max(order.expected_on, facts.today), outstanding),)
        return Promise(order, arrivals, 0, mould_id, pours)
    undated = outstanding - sum(arrival.copies for arrival in arrivals)
    return Promise(order, arrivals, undated, mould_id, pours)


def _making(order: OrderFacts, outstanding: int, shop: Shop) -> tuple[Making, int]:
    """The copies still to be made, in as many days as that takes, and the working day it begins on."""
    begin = shop.today if order.state == CASTING else max(shop.today, order.latest_start or shop.today)
    days = _FIRST_LOOK
    while True:
        last = begin + (days + shop.transport_days) * _DAY
        making = Making(shop, last, outstanding)
        start = bisect_left(making.days, begin)
        come = sum(arrival.copies for arrival in making.arrivals(making.most, start))
        if come == outstanding or days > MOST_DAYS_AHEAD:
            return making, start
        days *= 4
