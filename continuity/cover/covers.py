"""The cover and the order of each appliance, from what a production holds. No database: a "what if" is worked
out by the same functions from changed facts.
"""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from continuity.cover.assemble import AppliancePlan, plans_of
from continuity.cover.calculation import Cover, work_out_cover
from continuity.cover.consumption import UsageLog
from continuity.cover.demand import copies_needed_by_date
from continuity.cover.grades import EXACT, GradedCover, GradedPlan, work_out_graded_cover
from continuity.cover.plan import Plan, allowed_to_be_short, spares_now
from continuity.cover.production_facts import ASKED_FOR, ProductionFacts
from continuity.cover.reorder import Near, Reorder, chances_of, plan_shared_mould
from continuity.cover.servable import part_that_can_be_served
from continuity.cover.shop import Shop
from continuity.stock.grade import Grade


@dataclass(frozen=True)
class ApplianceCover:
    """The cover of one appliance, what it rests on, and what to order: None without a mould.

    ``applications``, ``needed`` and ``arriving`` are counts by shoot day's date. ``spares_now`` are usable
    copies on set that are not set aside; ``undated`` copies are on their way without a date and count for
    nothing.
    """

    plan: AppliancePlan
    cover: Cover | GradedCover
    reorder: Reorder | None
    applications: dict[datetime.date, int]
    needed: dict[datetime.date, int]

    @property
    def appliance_id(self) -> str:
        return self.plan.appliance.id

    @property
    def arriving(self) -> dict[datetime.date, int]:
        return dict(self.plan.arriving)

    @property
    def log(self) -> UsageLog:
        return self.plan.estimate.log

    @property
    def spares_now(self) -> int:
        if isinstance(self.plan.plan, Plan):
            return spares_now(self.plan.plan)
        return self.plan.on_set

    @property
    def exact(self) -> bool:
        """Whether the chances are exact; otherwise ``p_covered`` is a lower bound."""
        return not self.plan.bound and self.cover.left_out <= EXACT

    @property
    def at_target(self) -> bool:
        return self.cover.first_day_at_risk is None


def covers_of(
    facts: ProductionFacts,
    appliance_ids: Collection[str] | None = None,
    before: Collection[ApplianceCover] = (),
) -> list[ApplianceCover]:
    """The cover of every appliance, in the order of the facts, or of those asked for. Appliances cast in one
    mould are given orders that the mould can make together. Of the covers `before` the orders are taken over
    where nothing they rest on has changed.
    """
    plans = plans_of(facts)
    asked = {
        plan.appliance.id for plan in plans if appliance_ids is None or plan.appliance.id in appliance_ids
    }
    worked_out = [(plan, _cover(plan.plan)) for plan in plans if plan.appliance.id in asked]
    # Where none of those asked for wants anything, what the others want of the mould changes nothing.
    wanting = {plan.mould.id for plan, cover in worked_out if plan.mould and cover.first_day_at_risk}
    by_mould: dict[str, list[tuple[AppliancePlan, Cover | GradedCover | None]]] = defaultdict(list)
    covers = {plan.appliance.id: cover for plan, cover in worked_out}
    for plan in plans:
        if plan.mould and (plan.appliance.id in asked or plan.mould.id in wanting):
            by_mould[plan.mould.id].append((plan, covers.get(plan.appliance.id)))
    reorders: dict[str, Reorder] = {}
    known = {cover.appliance_id: cover for cover in before}
    for sharing in by_mould.values():
        ordered = [known.get(plan.appliance.id) for plan, _ in sharing]
        if _same(sharing, ordered):
            reorders.update({each.appliance_id: each.reorder for each in ordered if each and each.reorder})
        else:
            reorders.update(_reorders(sharing, facts))
    return [
        _appliance_cover(plan, cover, reorders.get(plan.appliance.id))
        for plan, cover in worked_out
        if plan.appliance.id in asked
    ]


def _at_target(plan: AppliancePlan) -> bool:
    """The same as of its cover, without the cover: of an appliance that nobody has asked for."""
    allowed = allowed_to_be_short(plan.target)
    risk, _ = chances_of(_days_that_matter(plan.plan), plan.grades[0]).at_end((), allowed)
    return risk <= allowed


def _cover(plan: Plan | GradedPlan) -> Cover | GradedCover:
    return work_out_cover(plan) if isinstance(plan, Plan) else work_out_graded_cover(plan)


def _appliance_cover(
    plan: AppliancePlan, cover: Cover | GradedCover, reorder: Reorder | None
) -> ApplianceCover:
    applications = Counter(application.date for application in plan.applications)
    needed = copies_needed_by_date(plan.applications).get(plan.appliance.id, {})
    return ApplianceCover(plan, cover, reorder, dict(applications), needed)


def _reorders(
    sharing: Sequence[tuple[AppliancePlan, Cover | GradedCover | None]], facts: ProductionFacts
) -> dict[str, Reorder]:
    """The orders of the appliances of one mould, none over its capacity. One at its target wants nothing."""
    found: dict[str, Reorder] = {}
    wanting: dict[str, Plan | GradedPlan] = {}
    grades: dict[str, Grade] = {}
    shop: Shop | None = None
    for plan, cover in sharing:
        shop = plan.shop
        if cover is not None and cover.first_day_at_risk is None:
            found[plan.appliance.id] = _nothing(cover)
        elif cover is not None or not _at_target(plan):
            wanting[plan.appliance.id] = _days_that_matter(plan.plan)
            grades[plan.appliance.id] = plan.grades[0]
    if shop is None or not wanting:
        return found
    # What was asked for before the last application is not far from what is wanted after it.
    near = {
        order.appliance_id: Near(order.copies, order.latest_start)
        for order in facts.orders
        if order.state == ASKED_FOR
    }
    asked = {plan.appliance.id for plan, cover in sharing if cover is not None}
    found.update(_together(wanting, shop, grades, near, asked & wanting.keys()))
    return found


def _same(
    sharing: Sequence[tuple[AppliancePlan, Cover | GradedCover | None]],
    before: Sequence[ApplianceCover | None],
) -> bool:
    """Whether these were the plans of all that share the mould before, but for days without a need."""

    return all(
        each is not None
        and each.plan.shop == plan.shop
        and _days_that_matter(each.plan.plan) == _days_that_matter(plan.plan)
        for (plan, _), each in zip(sharing, before, strict=True)
    )


def _together(
    plans: dict[str, Plan | GradedPlan],
    shop: Shop,
    grades: dict[str, Grade],
    near: dict[str, Near],
    asked: Collection[str],
) -> dict[str, Reorder]:
    found = plan_shared_mould(plans, shop, grades, near, asked)
    hopeless = {
        key: reorder
        for key, reorder in found.items()
        if not reorder.possible and reorder.best_p_covered < 1 - plans[key].target
    }
    if not hopeless:
        return found
    # Short for certain, near enough: no order helps that, and the days after it still want one.
    parts = {
        key: part_that_can_be_served(plan, shop, grades[key]) if key in hopeless else plan
        for key, plan in plans.items()
    }
    rest = plan_shared_mould(parts, shop, grades, near, asked)
    for key, whole in hopeless.items():
        rest[key] = replace(
            rest[key],
            latest_start=None,
            possible=False,
            best_p_covered=whole.best_p_covered,
            p_covered=whole.p_covered,
            still_short=whole.still_short,
        )
    return rest


def _days_that_matter(plan: Plan | GradedPlan) -> Plan | GradedPlan:
    """The plan without the days on which nothing is needed: the same chances in less time, for a search that
    asks for them again and again.
    """
    if isinstance(plan, GradedPlan):
        return replace(plan, days=tuple(day for day in plan.days if any(day.copies_needed.values())))
    scenes = {aside.date for aside in plan.set_aside}
    return replace(plan, days=tuple(day for day in plan.days if day.copies_needed or day.date in scenes))


def _nothing(cover: Cover | GradedCover) -> Reorder:
    """No order: the cover is at its target as it is."""
    return Reorder(
        copies=0,
        pours=0,
        latest_start=None,
        possible=True,
        best_p_covered=cover.p_covered,
        p_covered=cover.p_covered,
        still_short=None,
        schedule=(),
    )
