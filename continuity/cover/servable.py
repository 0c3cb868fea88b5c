"""The part of a plan that the shop can still serve.

When a day in the near future is as good as sure to be short whatever the shop does, the cover is close to 0
with any order, and no order is better than another by that measure. The days after it still need copies. So
the applications that cannot be served are taken out of the plan, as few copies as can be from the first day
still at risk and so on, until the rest can be brought to the target; the order is then for the rest.
"""

from __future__ import annotations

from dataclasses import replace

from continuity.cover.calculation import chance_of_being_short, supply_by_day
from continuity.cover.consumption import posterior, quantile_of_copies_used
from continuity.cover.plan import MOST_FOLLOWED, Plan, allowed_to_be_short
from continuity.cover.shop import Making, Shop

MOST_DAYS = 20
"""Days from which copies are taken out, at most, after those that are certain to be missing."""

_ENOUGH = 1 - 1e-9


def part_that_can_be_served(plan: Plan, shop: Shop) -> Plan:
    """The plan with what cannot be served left out; the plan itself when all can be, or nothing is needed."""
    needing = [day.date for day in plan.days if day.copies_needed]
    if not needing:
        return plan
    belief = posterior(plan.prior, plan.log)
    ever_used = quantile_of_copies_used(belief, plan.needed, _ENOUGH)
    limit = max(0, min(ever_used or MOST_FOLLOWED, MOST_FOLLOWED - plan.most_supplied))
    making = Making(shop, needing[-1], limit)
    allowed = allowed_to_be_short(plan.target)

    def made(part: Plan) -> Plan:
        return replace(part, arrivals=(*part.arrivals, *making.arrivals(making.most)))

    part = plan
    supply = supply_by_day(_with_all_that_may_come(made(part)))
    needed = 0
    for at, there in enumerate(supply):
        needed += part.days[at].copies_needed
        if needed > there:
            part = _without(part, at, needed - there)
            needed = there
    for _ in range(MOST_DAYS):
        short, _p = chance_of_being_short(made(part))
        at_risk = next(
            (at for at, chance in enumerate(short) if chance > allowed and part.days[at].copies_needed), None
        )
        if at_risk is None:
            break
        # The fewest copies without which that day is at risk no more, or all it needs.
        fewest, most = 1, part.days[at_risk].copies_needed
        while fewest < most:
            middle = (fewest + most) // 2
            if chance_of_being_short(made(_without(part, at_risk, middle)))[0][at_risk] <= allowed:
                most = middle
            else:
                fewest = middle + 1
        part = _without(part, at_risk, fewest)
    return part


def _with_all_that_may_come(plan: Plan) -> Plan:
    """Runs and copies set aside counted whole: what is missing even then is certain to be missing."""
    return replace(
        plan,
        on_set=plan.on_set + sum(aside.copies for aside in plan.set_aside) + sum(r.poured for r in plan.runs),
    )


def _without(plan: Plan, at: int, copies: int) -> Plan:
    """The plan with so many copies fewer needed on one of its days."""
    day = plan.days[at]
    left = max(0, day.copies_needed - copies)
    days = (*plan.days[:at], replace(day, copies_needed=left), *plan.days[at + 1 :])
    asides = []
    for aside in plan.set_aside:
        if aside.date == day.date:
            wanted = min(aside.copies_needed, left)
            left -= wanted
            aside = replace(aside, copies_needed=wanted)
        asides.append(aside)
    return replace(plan, days=days, set_aside=tuple(asides))
