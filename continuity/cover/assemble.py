"""From what a production holds to the plan of each appliance: which days need copies, which copies serve
them, what the shop can cast, and what the success rate rests on.

Rules, all common practice with no source:

- A copy serves a look that asks for its grade or a lower one. While the looks planned ask for one grade, what
  is of a lower grade is not there for them. When they ask for several, the grades are served together.
- Copies in transit or at the shop count from the date on which they are expected; without one they count for
  nothing. So do those still to come of an order that the shop has taken on (`promised.py`). A cast run counts
  from its due date on, with the uncertainty of its mould's yield; its copies pass their shelf date so many
  days after casting as the appliance keeps.
- Copies set aside for a scene are for the applications of that scene on the first day on which it is planned.
  While it is not planned they are for nothing. Those that come only after that day are set aside no more, nor
  are those for a scene that has been shot and is not planned again, or is taken back.
- An appliance that several moulds cast is made in the one with most pours a day.

Where grades are served together, a run that is due counts only as the copies that pass with the production's
pour confidence, and copies set aside count from the day of their scene on if nothing else needs that
appliance on that day, otherwise from the next day on. Each leaves copies out, so the cover is a lower bound.
"""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from continuity.cover.bounds import within_bounds
from continuity.cover.consumption import UsageLog, quantiles_of_copies_used
from continuity.cover.demand import PlannedApplication, planned_applications
from continuity.cover.estimate import Estimate, estimate
from continuity.cover.grades import HIGHEST_FIRST, GradedCopies, GradedDay, GradedPlan
from continuity.cover.plan import Arrival, DatedCopies, Plan, PlannedDay, RunDue, SetAside
from continuity.cover.pooling import PooledPrior, pooled_prior
from continuity.cover.production_facts import (
    ApplianceFacts,
    CopyLot,
    MouldFacts,
    Place,
    ProductionFacts,
    RunFacts,
)
from continuity.cover.promised import Promise, mould_of, promises_of, shop_for, yield_of
from continuity.cover.shop import Shop
from continuity.stock.grade import Grade, grade_serves

MOST_DAYS_AHEAD = 3_650
"""Days from today after which a shoot day is not looked at: it is a slip of the pen."""

_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class AppliancePlan:
    """What the cover of one appliance is worked out from, and what that rests on.

    `plan` is a `GradedPlan` when the looks planned ask for more than one grade (`grades`, highest first).
    `applications` are those still to do, by date and start. `lots` and `runs` are the copies that serve them
    and the cast runs that will, `promises` what orders that stand still bring; `kept` are copies set aside,
    by scene still to be shot. `mould` and `shop` are None for an appliance without a mould. `bound`: whether
    the plan leaves copies or days out, so that its cover is not exact. `until` is the last day looked at
    where that is not the last of the schedule.
    """

    appliance: ApplianceFacts
    plan: Plan | GradedPlan
    grades: tuple[Grade, ...]
    estimate: Estimate
    pooling: PooledPrior
    applications: tuple[PlannedApplication, ...]
    lots: tuple[CopyLot, ...]
    kept: tuple[CopyLot, ...]
    runs: tuple[RunFacts, ...]
    mould: MouldFacts | None
    shop: Shop | None
    arriving: Mapping[datetime.date, int]
    promises: tuple[Promise, ...]
    bound: bool
    until: datetime.date | None

    @property
    def target(self) -> float:
        return self.plan.target

    @property
    def on_set(self) -> int:
        """Copies on set that may be put on, without those set aside."""
        return sum(lot.copies for lot in self.lots if lot.place is Place.ON_SET)

    @property
    def in_transit(self) -> int:
        return sum(lot.copies for lot in self.lots if lot.place is Place.IN_TRANSIT)

    @property
    def due(self) -> int:
        """Copies at the shop, those planned in cast runs that have no result yet, and those still to come of
        orders that stand.
        """
        at_shop = sum(lot.copies for lot in self.lots if lot.place is Place.SHOP)
        ordered = sum(promise.copies for promise in self.promises)
        return at_shop + sum(run.poured for run in self.runs) + ordered

    @property
    def undated(self) -> int:
        """Copies not on set that nobody has said a date for: they count for nothing."""
        lots = (lot.copies for lot in self.lots if lot.place is not Place.ON_SET and lot.expected_on is None)
        return sum(lots) + sum(promise.undated for promise in self.promises)

    @property
    def set_aside(self) -> int:
        return sum(lot.copies for lot in self.kept)


def planned_now(facts: ProductionFacts) -> list[PlannedApplication]:
    """The applications the schedule asks for, without those on a face already: one planned application less
    for each one logged with a good copy of the appliance, for the same performer, look and date, the earliest
    first.
    """
    last = facts.today + MOST_DAYS_AHEAD * _DAY
    days = [day for day in facts.shoot_days if day.date <= last]
    logged = Counter((each.appliance_id, each.performer_id, each.look_id, each.date) for each in facts.logged)
    left = []
    for application in planned_applications(days, facts.looks):
        key = (application.appliance_id, application.performer_id, application.look_id, application.date)
        if logged[key]:
            logged[key] -= 1
        else:
            left.append(application)
    return left


def prior_of_production(facts: ProductionFacts) -> PooledPrior:
    """The prior every appliance starts from, learnt from the logs of all where they can tell."""
    return pooled_prior((log for _, log in sorted(facts.logs.items())), facts.settings.prior)


def plans_of(facts: ProductionFacts) -> list[AppliancePlan]:
    """The plan of each appliance, in the order of the facts."""
    pooling = prior_of_production(facts)
    promises = promises_of(facts)
    mine: dict[str, list[PlannedApplication]] = defaultdict(list)
    for application in planned_now(facts):
        mine[application.appliance_id].append(application)
    last = facts.today + MOST_DAYS_AHEAD * _DAY
    dates = sorted({day.date for day in facts.shoot_days if day.date <= last})
    shot_on: dict[str, datetime.date] = {}
    for day in facts.shoot_days:
        for scene in day.scenes:
            shot_on[scene.scene_id] = min(day.date, shot_on.get(scene.scene_id, day.date))
    return [
        _Assembly(facts, appliance, mine[appliance.id], dates, shot_on, pooling, promises).plan()
        for appliance in facts.appliances
    ]


def comes_on(lot: CopyLot, today: datetime.date, transport_days: int) -> datetime.date | None:
    """From when on it is on set: today for what is there, None for what has no date. What is still in the
    shop cannot be there before it has travelled, whatever day was said once.
    """
    if lot.place is Place.ON_SET:
        return today
    if lot.expected_on is None:
        return None
    earliest = today + transport_days * _DAY if lot.place is Place.SHOP else today
    return max(lot.expected_on, earliest)


def run_use_by(appliance: ApplianceFacts, run: RunFacts) -> datetime.date | None:
    """The shelf date of the copies of a cast run, None where the appliance keeps."""
    keeps = appliance.shelf_life_days
    return None if keeps is None else run.cast_on + keeps * _DAY


class _Assembly:
    """One appliance on the way to its plan."""

    def __init__(
        self,
        facts: ProductionFacts,
        appliance: ApplianceFacts,
        applications: Sequence[PlannedApplication],
        dates: Sequence[datetime.date],
        shot_on: Mapping[str, datetime.date],
        pooling: PooledPrior,
        promises: Mapping[str, tuple[Promise, ...]],
    ) -> None:
        self.facts = facts
        self.appliance = appliance
        self.applications = applications
        self.dates = dates
        self.shot_on = shot_on
        self.pooling = pooling
        self.all_promises = promises
        self.log = facts.logs.get(appliance.id, UsageLog(0, 0))
        self.needed: dict[datetime.date, Counter[Grade]] = defaultdict(Counter)
        for application in applications:
            self.needed[application.date][self._asked(application)] += application.copies
        asked = {grade for by_grade in self.needed.values() for grade in by_grade}
        self.grades = tuple(grade for grade in HIGHEST_FIRST if grade in asked) or (appliance.grade,)
        self.moulds = {mould.id: mould for mould in facts.moulds}
        lots = [
            lot
            for lot in facts.lots
            if lot.appliance_id == appliance.id and grade_serves(lot.grade, self.grades[-1])
        ]
        self.kept = tuple(lot for lot in lots if self._is_kept(lot))
        self.lots = tuple(lot for lot in lots if not self._is_kept(lot))
        # A run gives copies of the appliance's own grade.
        serves = grade_serves(appliance.grade, self.grades[-1])
        self.runs = tuple(run for run in facts.runs if run.appliance_id == appliance.id and serves)
        self.promises = tuple(
            promise
            for promise in promises.get(appliance.id, ())
            if grade_serves(promise.order.grade, self.grades[-1])
        )

    def plan(self) -> AppliancePlan:
        mould = mould_of(self.facts, self.appliance.id)
        whole = self._graded() if len(self.grades) > 1 else self._plain()
        plan, until = within_bounds(whole)
        left_out = isinstance(plan, GradedPlan) and bool(self.runs or self.kept)
        return AppliancePlan(
            appliance=self.appliance,
            plan=plan,
            grades=self.grades,
            estimate=estimate(self.pooling.prior, self.log),
            pooling=self.pooling,
            applications=tuple(self.applications),
            lots=self.lots,
            kept=self.kept,
            runs=self.runs,
            mould=mould,
            shop=shop_for(self.facts, mould, self.all_promises) if mould else None,
            arriving=self._arriving(),
            promises=self.promises,
            bound=left_out or plan is not whole,
            until=until,
        )

    def _asked(self, application: PlannedApplication) -> Grade:
        return self.facts.grades.get((application.look_id, self.appliance.id), self.appliance.grade)

    def _comes_on(self, lot: CopyLot) -> datetime.date | None:
        return comes_on(lot, self.facts.today, self.facts.settings.transport_days)

    def _is_kept(self, lot: CopyLot) -> bool:
        scene = lot.set_aside_for
        if scene is None or scene not in self.facts.scenes:
            return False
        shot_on, comes_on = self.shot_on.get(scene), self._comes_on(lot)
        if shot_on is None and scene in self.facts.shot:
            return False
        return shot_on is None or comes_on is None or comes_on <= shot_on

    def _run_use_by(self, run: RunFacts) -> datetime.date | None:
        return run_use_by(self.appliance, run)

    def _arriving(self) -> dict[datetime.date, int]:
        """Copies by the date on which they come; of a run those planned."""
        coming: Counter[datetime.date] = Counter()
        for lot in self.lots:
            on = self._comes_on(lot)
            if lot.place is not Place.ON_SET and on is not None:
                coming[on] += lot.copies
        for run in self.runs:
            coming[max(run.due_on, self.facts.today)] += run.poured
        for promise in self.promises:
            for arrival in promise.arrivals:
                coming[arrival.date] += arrival.copies
        return dict(coming)

    # -- one grade ---------------------------------------------------------------------------------

    def _plain(self) -> Plan:
        on_set, dated, arrivals = 0, [], []
        for lot in self.lots:
            on = self._comes_on(lot)
            if lot.place is not Place.ON_SET:
                if on is not None:
                    arrivals.append(Arrival(on, lot.copies, lot.use_by))
            elif lot.use_by is None:
                on_set += lot.copies
            else:
                dated.append(DatedCopies(lot.copies, lot.use_by))
        for promise in self.promises:
            arrivals += promise.arrivals
        runs = tuple(
            RunDue(
                date=max(run.due_on, self.facts.today),
                poured=run.poured,
                mould_yield=yield_of(self.facts, self.moulds.get(run.mould_id)),
                mould=run.mould_id,
                use_by=self._run_use_by(run),
            )
            for run in self.runs
        )
        return Plan(
            target=self.facts.settings.target,
            prior=self.pooling.prior,
            log=self.log,
            on_set=on_set,
            arrivals=tuple(sorted(arrivals, key=lambda arrival: arrival.date)),
            days=tuple(PlannedDay(date, sum(self.needed[date].values())) for date in self.dates),
            dated=tuple(sorted(dated, key=lambda lot: lot.use_by)),
            runs=runs,
            set_aside=self._set_aside(),
        )

    def _set_aside(self) -> tuple[SetAside, ...]:
        """One for each scene that is planned. Copies with several shelf dates go by the earliest: that can
        only make what the scene leaves run out sooner.
        """
        by_scene: dict[str, list[CopyLot]] = defaultdict(list)
        for lot in self.kept:
            on = self.shot_on.get(lot.set_aside_for or "")
            if on is not None and self._comes_on(lot) is not None and not (lot.use_by and lot.use_by < on):
                by_scene[lot.set_aside_for or ""].append(lot)
        taken: set[int] = set()
        asides = []
        for scene, lots in sorted(by_scene.items()):
            on, needed = self.shot_on[scene], 0
            for at, application in enumerate(self.applications):
                # One application may run through two scenes that have copies set aside; it is wanted once.
                if application.date == on and scene in application.scene_ids and at not in taken:
                    taken.add(at)
                    needed += application.copies
            use_by = min((lot.use_by for lot in lots if lot.use_by is not None), default=None)
            asides.append(SetAside(on, needed, sum(lot.copies for lot in lots), use_by))
        return tuple(asides)

    # -- several grades ----------------------------------------------------------------------------

    def _graded(self) -> GradedPlan:
        supply = [
            GradedCopies(lot.grade, lot.copies, None if lot.place is Place.ON_SET else on, lot.use_by)
            for lot in self.lots
            if (on := self._comes_on(lot)) is not None
        ]
        for run in self.runs:
            pass_for_sure = self._passing(run)
            if pass_for_sure:
                due = max(run.due_on, self.facts.today)
                supply.append(GradedCopies(self.appliance.grade, pass_for_sure, due, self._run_use_by(run)))
        for promise in self.promises:
            supply += [
                GradedCopies(promise.order.grade, arrival.copies, arrival.date)
                for arrival in promise.arrivals
            ]
        needed_for: Counter[str] = Counter()
        for application in self.applications:
            for scene in application.scene_ids:
                if self.shot_on.get(scene) == application.date:
                    needed_for[scene] += application.copies
        for lot in self.kept:
            scene = lot.set_aside_for or ""
            shot_on = self.shot_on.get(scene)
            if shot_on is None or self._comes_on(lot) is None:
                continue
            alone = needed_for[scene] == sum(self.needed[shot_on].values())
            free = shot_on if alone else shot_on + _DAY
            supply.append(GradedCopies(lot.grade, lot.copies, free, lot.use_by))
        return GradedPlan(
            target=self.facts.settings.target,
            prior=self.pooling.prior,
            log=self.log,
            supply=tuple(supply),
            days=tuple(GradedDay(date, dict(self.needed[date])) for date in self.dates),
        )

    def _passing(self, run: RunFacts) -> int:
        """Copies of a run that pass with the production's pour confidence."""
        counts = list(range(1, run.poured + 1))
        confidence = self.facts.settings.pour_confidence
        pours = quantiles_of_copies_used(
            yield_of(self.facts, self.moulds.get(run.mould_id)), counts, (confidence,)
        )
        return sum(enough is not None and enough <= run.poured for (enough,) in pours)
