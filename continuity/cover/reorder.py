"""What the shop must start, and by when.

The order is the smallest number of good copies that lifts the cover to its target when the shop starts today;
they come as the mould makes them (`shop.py`), not all at the end. The latest start is the last working day
from which the same copies still lift it there. More copies never lower the cover and a later start never
raises it, so both are found by halving. The good copies count as sure to come as planned: that the pours are
enough is what the confidence says.

A copy made is taken to last through the plan; its shelf date is for the shop to mind.

A target is a critical ratio: with a cost for each copy too few and one for each too many, the number that
costs least on a single day is the smallest whose cover reaches cost of too few / (both costs together) (the
newsvendor; Arrow, Harris and Marschak, Econometrica 19 (1951), from memory).
"""

from __future__ import annotations

import abc
import datetime
import functools
import itertools
import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from continuity.cover.calculation import certainly_short, chance_of_being_short, supply_by_day
from continuity.cover.consumption import (
    Beta,
    posterior,
    quantile_of_copies_used,
    quantiles_of_copies_used,
)
from continuity.cover.earlier import Earlier, GradedEarlier
from continuity.cover.grades import (
    GradedCopies,
    GradedPlan,
    graded_chance_of_being_short,
    graded_in_blocks,
    together,
)
from continuity.cover.plan import (
    MOST_COPIES,
    MOST_FOLLOWED,
    Arrival,
    InvalidPlan,
    Plan,
    all_alike,
    allowed_to_be_short,
    check_plan,
    in_blocks,
)
from continuity.cover.shop import Making, PourDay, Shop, check_shop
from continuity.stock.grade import Grade

MOST_DAYS_AHEAD = 3_660
"""Days from today to the last shoot day that a shop's calendar is gone through for."""

MOST_ORDERS_TRIED = 4
"""Up to so many appliances on one mould every order of serving them is tried."""

_ENOUGH = 1 - 1e-9
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Reorder:
    """What to order of one appliance.

    `copies`: good copies to order; 0 when the cover is at its target without. When the target is out of
    reach, the fewest that give the target's share of the best cover: what is lost is lost, and dozens of
    copies for the last thousandth of the rest are not worth casting.
    `pours`: pours for them at the mould's yield and confidence.
    `latest_start`: the last day to start; None when nothing is to be ordered or the target is out of reach
    (then every day counts, and the first working day is the day to start).
    `possible`: whether the target can be reached.
    `best_p_covered`: the cover with everything the mould can make in time from today on.
    `p_covered`: the cover with `copies`, started on `latest_start` (or on the first working day).
    `still_short`: the first day that stays at risk with the best cover; None when the target can be reached.
    `schedule`: the pours by day for that start, done as soon as can be.
    """

    copies: int
    pours: int
    latest_start: datetime.date | None
    possible: bool
    best_p_covered: float
    p_covered: float
    still_short: datetime.date | None
    schedule: tuple[PourDay, ...]


@dataclass(frozen=True)
class Near:
    """An order that is likely close to the one wanted, for a search to begin with: it saves time and changes
    no answer. `latest_start` is None where it is not known.
    """

    copies: int
    latest_start: datetime.date | None = None


def work_out_reorder(
    plan: Plan | GradedPlan, shop: Shop, grade: Grade = Grade.HERO, near: Near | None = None
) -> Reorder:
    """The order for one appliance. Where its looks ask for several grades, the copies made pass as `grade`:
    with `Grade.HERO` the order is the smallest that serves every look; a lower grade may not help at all.

    Raises InvalidPlan, naming the field, for a plan or a shop that breaks its own rules.
    """
    return order_search(plan, shop, chances_of(plan, grade)).worked_out(near)


class Chances(abc.ABC):
    """The chances of a plan with more copies to come, none worked out twice. `together`: the plan with its
    grades forgotten.
    """

    def __init__(self, together: Plan) -> None:
        self._together = together
        # The third says whether all days were followed.
        self._known: dict[tuple[Arrival, ...], tuple[float, float, bool]] = {}

    def at_end(self, come: tuple[Arrival, ...], stop_above: float = 1.0) -> tuple[float, float]:
        """`p_short_by` of the last day, and the cover. Once it is above `stop_above` nothing is followed any
        further, and both are only bounds.
        """
        risk, p_covered, followed = self._known.get(come, (0.0, 1.0, False))
        if not followed and risk <= stop_above:
            risk, p_covered = self._at_end(come, stop_above)
            self._known[come] = risk, p_covered, risk <= stop_above
        return risk, p_covered

    def may_do(self, come: tuple[Arrival, ...]) -> bool:
        """A guess at whether the target is met, for a search to begin with."""
        return self._rough.do(come)

    def wanted_from(self) -> datetime.date:
        """A guess at the day from which more copies are wanted."""
        return self._rough.wanted_from

    @functools.cached_property
    def _rough(self) -> _Rough:
        return _Rough(self._together)

    @abc.abstractmethod
    def by_day(self, come: tuple[Arrival, ...]) -> tuple[list[float], float]:
        """`p_short_by` of each day, and the cover."""

    @abc.abstractmethod
    def _at_end(self, come: tuple[Arrival, ...], stop_above: float) -> tuple[float, float]: ...


class _Rough:
    """A plan looked at one day at a time, as if nothing expired, nothing were set aside, and a run gave what
    it gives on average.
    """

    def __init__(self, plan: Plan) -> None:
        runs = tuple(Arrival(run.date, int(run.poured * run.mould_yield.mean)) for run in plan.runs)
        kept = sum(aside.copies for aside in plan.set_aside)
        supply = supply_by_day(replace(plan, arrivals=(*plan.arrivals, *runs)))
        needed = list(itertools.accumulate(day.copies_needed for day in plan.days))
        used = quantiles_of_copies_used(posterior(plan.prior, plan.log), needed, (plan.target,))
        # Copies to come by each date, of the days on which more are wanted than on any before.
        self._dates: list[datetime.date] = []
        self._wanted: list[float] = []
        for day, (enough,), there in zip(plan.days, used, supply, strict=True):
            wanted = math.inf if enough is None else enough - there - kept
            if wanted > (self._wanted[-1] if self._wanted else 0):
                self._dates.append(day.date)
                self._wanted.append(wanted)

    @property
    def wanted_from(self) -> datetime.date:
        return self._dates[0] if self._dates else datetime.date.max

    def do(self, come: tuple[Arrival, ...]) -> bool:
        made, next_one = 0, 0
        for date, wanted in zip(self._dates, self._wanted, strict=True):
            while next_one < len(come) and come[next_one].date <= date:
                made += come[next_one].copies
                next_one += 1
            if made < wanted:
                return False
        return True


class _PlanChances(Chances):
    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self._plan = plan

    def by_day(self, come: tuple[Arrival, ...]) -> tuple[list[float], float]:
        return chance_of_being_short(self._with(come))

    def _at_end(self, come: tuple[Arrival, ...], stop_above: float) -> tuple[float, float]:
        plan = self._with(come)
        if stop_above < 1 and certainly_short(plan):
            return 1.0, 0.0
        if not all_alike(plan):
            plan = self._earlier.of(self._plan, come)
        return _end(chance_of_being_short(in_blocks(plan), stop_above))

    @functools.cached_property
    def _earlier(self) -> Earlier:
        return Earlier(self._plan)

    def _with(self, come: tuple[Arrival, ...]) -> Plan:
        return replace(self._plan, arrivals=(*self._plan.arrivals, *come))


class _GradedChances(Chances):
    def __init__(self, plan: GradedPlan, grade: Grade) -> None:
        super().__init__(together(plan))
        self._plan, self._grade = plan, grade

    def by_day(self, come: tuple[Arrival, ...]) -> tuple[list[float], float]:
        return graded_chance_of_being_short(self._with(come))

    def _at_end(self, come: tuple[Arrival, ...], stop_above: float) -> tuple[float, float]:
        plan = self._with(come)
        if stop_above < 1 and certainly_short(together(plan)):
            return 1.0, 0.0
        plan = self._earlier.of(self._plan, self._made(come))
        return _end(graded_chance_of_being_short(graded_in_blocks(plan), stop_above))

    @functools.cached_property
    def _earlier(self) -> GradedEarlier:
        return GradedEarlier(self._plan)

    def _made(self, come: tuple[Arrival, ...]) -> tuple[GradedCopies, ...]:
        return tuple(GradedCopies(self._grade, arrival.copies, arrival.date) for arrival in come)

    def _with(self, come: tuple[Arrival, ...]) -> GradedPlan:
        return replace(self._plan, supply=(*self._plan.supply, *self._made(come)))


def _end(chances: tuple[list[float], float]) -> tuple[float, float]:
    short, p_covered = chances
    return short[-1] if short else 0.0, p_covered


def chances_of(plan: Plan | GradedPlan, grade: Grade = Grade.HERO) -> Chances:
    """The chances of a plan with copies of that grade to come."""
    return _PlanChances(plan) if isinstance(plan, Plan) else _GradedChances(plan, grade)


def order_search(plan: Plan | GradedPlan, shop: Shop, chances: Chances) -> OrderSearch:
    """The search for an order, with chances that may be shared by searches for the same plan."""
    whole = plan if isinstance(plan, Plan) else together(plan)
    check_plan(whole)
    check_shop(shop)
    needing = [day.date for day in whole.days if day.copies_needed]
    alike = isinstance(plan, Plan) and all_alike(plan)
    room = (MOST_COPIES if alike else MOST_FOLLOWED) - whole.most_supplied
    limit = _most_of_use(posterior(plan.prior, plan.log), whole.needed, room)
    return OrderSearch([day.date for day in whole.days], needing, plan.target, limit, shop, chances)


class OrderSearch:
    """A search for an order. `dates`: the days of the plan, `needing`: those that need copies; `limit`: the
    most copies to order.
    """

    def __init__(
        self,
        dates: Sequence[datetime.date],
        needing: Sequence[datetime.date],
        target: float,
        limit: int,
        shop: Shop,
        chances: Chances,
    ) -> None:
        self._dates = dates
        self._chances = chances
        self._target = target
        self._allowed = allowed_to_be_short(target)
        last = needing[-1] if needing else shop.today
        if (last - shop.today).days > MOST_DAYS_AHEAD:
            raise InvalidPlan("today", f"must not be more than {MOST_DAYS_AHEAD} days before the last day")
        self.making = Making(shop, last, limit)
        self._coming: dict[tuple[int, int], tuple[Arrival, ...]] = {}

    @property
    def most_reaches(self) -> bool:
        """Whether the target is met with all that can be made."""
        return self._reaches(self.making.most)

    def best(self) -> float:
        """The cover with all that can be made."""
        return self._covered(self.making.most)

    def reach(self) -> Reorder:
        """Whether the target can be reached, and how far one gets; no order is looked for."""
        possible, best_p = self.most_reaches, self.best()
        return Reorder(0, 0, None, possible, best_p, best_p, None, ())

    def soonest(self, near: Near | None = None) -> Reorder:
        """The order, looked for from `near` on, when it is started as soon as can be."""
        most = self.making.most
        possible, best_p = self.most_reaches, self.best()
        if near is None:
            around = _first(lambda count: self._may_reach(count), most)
        else:
            around = min(near.copies, most)
        if possible:
            copies = _first(lambda count: self._reaches(count), most, around)
        else:
            enough = best_p * self._target
            copies = _first(lambda count: self._covered(count) >= enough, most, around)
        return Reorder(
            copies=copies,
            pours=self.making.pours(copies),
            latest_start=None,
            possible=possible,
            best_p_covered=best_p,
            p_covered=self._covered(copies),
            still_short=None if possible else self._at_risk(),
            schedule=self.making.schedule(copies),
        )

    def worked_out(self, near: Near | None = None) -> Reorder:
        """The order, looked for from `near` on, with the last day to start."""
        order, days = self.soonest(near), self.making.days
        copies = order.copies
        if not (order.possible and copies):
            return order
        # The first day too late, looked for among those after the first.
        last = len(days) - 1
        if near is None or near.latest_start is None:
            around = _first(lambda later: not self._may_reach(copies, later + 1), last)
        else:
            around = min(bisect_left(days, near.latest_start), last)
        start = _first(lambda later: not self._reaches(copies, later + 1), last, around)
        return replace(
            order,
            latest_start=days[start],
            p_covered=self._covered(copies, start),
            schedule=self.making.schedule(copies, start),
        )

    def _reaches(self, copies: int, start: int = 0) -> bool:
        risk, _ = self._chances.at_end(self._come(copies, start), self._allowed)
        return risk <= self._allowed

    def _may_reach(self, copies: int, start: int = 0) -> bool:
        return self._chances.may_do(self._come(copies, start))

    def _covered(self, copies: int, start: int = 0) -> float:
        return self._chances.at_end(self._come(copies, start))[1]

    def _come(self, copies: int, start: int) -> tuple[Arrival, ...]:
        """So many copies from that working day on."""
        come = self._coming.get((copies, start))
        if come is None:
            come = self._coming[copies, start] = self.making.arrivals(copies, start) if copies else ()
        return come

    def _at_risk(self) -> datetime.date | None:
        """The first day at risk with all that can be made."""
        short, _ = self._chances.by_day(self._come(self.making.most, 0))
        days = zip(self._dates, short, strict=True)
        return next((date for date, chance in days if chance > self._allowed), None)


def _first(holds: Callable[[int], bool], last: int, around: int | None = None) -> int:
    """The smallest number from 0 for which `holds`, which once true stays true; `last` if none before is.
    It is found the sooner the closer it is to `around`.
    """
    low, high = 0, last
    if around is not None and around <= last:
        step = 1
        if around == last or holds(around):
            high = around
            while low < high:
                below = max(0, high - step)
                if not holds(below):
                    low = below + 1
                    break
                high, step = below, 2 * step
        else:
            low = around + 1
            while low + step - 1 < high:
                above = low + step - 1
                if holds(above):
                    high = above
                    break
                low, step = above + 1, 2 * step
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _most_of_use(belief: Beta, needed: int, room: int) -> int:
    """Copies beyond which another changes nothing, or beyond which a plan is not worked out."""
    ever_used = quantile_of_copies_used(belief, needed, _ENOUGH)
    return max(0, room if ever_used is None else min(room, ever_used))


def plan_shared_mould(
    plans: Mapping[str, Plan | GradedPlan],
    shop: Shop,
    grades: Mapping[str, Grade] | None = None,
    near: Mapping[str, Near] | None = None,
    asked: Collection[str] | None = None,
) -> dict[str, Reorder]:
    """The orders of several appliances (by any key) that are cast in one mould, none over its capacity.
    `grades` are those that the copies made pass as, hero unless given.

    The appliance that wants copies first is served first; each of the others gets what room is left. If that
    leaves one out of reach and there are MOST_ORDERS_TRIED appliances or fewer, every order of serving is
    tried and the one kept that reaches most targets, then the greatest covers together. Then, last served
    first, each start is put off as long as its target allows with the others where they are: all
    `latest_start` hold together. A cycle may be shared: what counts is pours. Where only some are `asked`
    for, the others are given only as far as those rest on them.
    """
    grades, near = grades or {}, near or {}
    chances = {key: chances_of(plan, grades.get(key, Grade.HERO)) for key, plan in plans.items()}

    def orders_of(key: str, shop: Shop) -> OrderSearch:
        return order_search(plans[key], shop, chances[key])

    left_to_do = set(plans if asked is None else asked)
    if len(plans) == 1:
        return {key: orders_of(key, shop).worked_out(near.get(key)) for key in plans}
    first_served = sorted(plans, key=lambda key: chances[key].wanted_from())

    def in_turn(order: Sequence[str]) -> dict[str, Reorder]:
        """Each in turn in the room that is left, started as soon as can be. What the last one orders is left
        open: only how far it can get.
        """
        served: dict[str, Reorder] = {}
        for key in order[:-1]:
            left = orders_of(key, booked(shop, served.values()))
            served[key] = left.soonest(near.get(key))
        left = orders_of(order[-1], booked(shop, served.values()))
        return {**served, order[-1]: left.reach()}

    served = in_turn(first_served)
    if len(plans) <= MOST_ORDERS_TRIED and not all(reorder.possible for reorder in served.values()):
        served = max((in_turn(order) for order in itertools.permutations(first_served)), key=_reached)
    for key in reversed(list(served)):
        if not left_to_do:
            break
        left_to_do.discard(key)
        others = (reorder for other, reorder in served.items() if other != key)
        served[key] = orders_of(key, booked(shop, others)).worked_out(near.get(key))
    return served


def booked(shop: Shop, reorders: Iterable[Reorder]) -> Shop:
    """The shop with the pours of these orders promised."""
    pours = Counter(shop.booked)
    for reorder in reorders:
        for day in reorder.schedule:
            pours[day.date] += day.pours
    return replace(shop, booked=dict(pours))


def _reached(served: Mapping[str, Reorder]) -> tuple[int, float]:
    reorders = served.values()
    return sum(each.possible for each in reorders), sum(each.best_p_covered for each in reorders)
