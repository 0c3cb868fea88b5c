"""What the shop must start, and by when.

The order is the smallest number of good copies that lifts the cover to its target when the shop starts today;
they come as the mould makes them (`shop.py`), not all at the end. The last day to start is the last working
day from which the same copies still lift it there. More copies never lower the cover and a later start never
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
import enum
import itertools
import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from continuity.cover.calculation import certainly_short, chance_of_being_short, supply_by_day
from continuity.cover.consumption import (
    Beta,
    posterior,
    quantile_of_copies_used,
    quantiles_of_copies_used,
)
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
    DatedCopies,
    InvalidPlan,
    Plan,
    all_alike,
    allowed_to_be_short,
    check_plan,
    in_blocks,
)
from continuity.cover.shop import Making, PourDay, Shop, check_shop
from continuity.stock.grade import Grade

MOST_DAYS_MOVED = 7
"""How many days later a shoot day is tried, when a move is looked for."""

MOST_DAYS_AHEAD = 3_660
"""Days from today to the last shoot day that a shop's calendar is gone through for."""

MOST_ORDERS_TRIED = 4
"""Up to so many appliances on one mould every order of serving them is tried."""

_ENOUGH = 1 - 1e-9
_AS_GOOD = 1e-9
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


def work_out_reorder(plan: Plan, shop: Shop) -> Reorder:
    """The order for one appliance. Raises InvalidPlan, naming the field, for a plan or a shop that breaks its
    own rules.
    """
    return _order(plan, shop, _PlanChances(plan)).worked_out()


def work_out_graded_reorder(plan: GradedPlan, shop: Shop, grade: Grade) -> Reorder:
    """The same for an appliance whose looks ask for several grades, with copies made that pass as `grade`.

    With `Grade.HERO` the order is the smallest that serves every look; a lower grade may not help at all.
    """
    check_shop(shop)
    needing = [day.date for day in plan.days if any(day.copies_needed.values())]
    needed = sum(sum(day.copies_needed.values()) for day in plan.days)
    room = MOST_FOLLOWED - sum(lot.copies for lot in plan.supply)
    limit = _most_of_use(posterior(plan.prior, plan.log), needed, room)
    dates = [day.date for day in plan.days]
    return _Order(dates, needing, plan.target, limit, shop, _GradedChances(plan, grade)).worked_out()


class _Chances(abc.ABC):
    """The chances of a plan with more copies to come, none worked out twice. `together`: the plan with its
    grades forgotten.
    """

    def __init__(self, together: Plan) -> None:
        self._rough = _Rough(together)
        self._followed: dict[tuple[Arrival, ...], tuple[float, float]] = {}
        self._passed: dict[tuple[Arrival, ...], float] = {}

    def at_end(self, come: tuple[Arrival, ...], stop_above: float = 1.0) -> tuple[float, float]:
        """`p_short_by` of the last day, and the cover. Once it is above `stop_above` nothing is followed any
        further, and both are only bounds.
        """
        known = self._followed.get(come)
        if known is not None:
            return known
        passed = self._passed.get(come, 0.0)
        if passed > stop_above:
            return passed, 1.0 - passed
        risk, p_covered = self._at_end(come, stop_above)
        if risk > stop_above:
            self._passed[come] = risk
        else:
            self._followed[come] = risk, p_covered
        return risk, p_covered

    def may_do(self, come: tuple[Arrival, ...]) -> bool:
        """A guess at whether the target is met, for a search to begin with."""
        return self._rough.do(come)

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

    def do(self, come: tuple[Arrival, ...]) -> bool:
        made, next_one = 0, 0
        for date, wanted in zip(self._dates, self._wanted, strict=True):
            while next_one < len(come) and come[next_one].date <= date:
                made += come[next_one].copies
                next_one += 1
            if made < wanted:
                return False
        return True


class _PlanChances(_Chances):
    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self._plan = plan

    def by_day(self, come: tuple[Arrival, ...]) -> tuple[list[float], float]:
        return chance_of_being_short(self._with(come))

    def _at_end(self, come: tuple[Arrival, ...], stop_above: float) -> tuple[float, float]:
        plan = self._with(come)
        if stop_above < 1 and certainly_short(plan):
            return 1.0, 0.0
        return _end(chance_of_being_short(in_blocks(plan), stop_above))

    def _with(self, come: tuple[Arrival, ...]) -> Plan:
        return replace(self._plan, arrivals=(*self._plan.arrivals, *come))


class _GradedChances(_Chances):
    def __init__(self, plan: GradedPlan, grade: Grade) -> None:
        super().__init__(together(plan))
        self._plan, self._grade = plan, grade

    def by_day(self, come: tuple[Arrival, ...]) -> tuple[list[float], float]:
        return graded_chance_of_being_short(self._with(come))

    def _at_end(self, come: tuple[Arrival, ...], stop_above: float) -> tuple[float, float]:
        plan = self._with(come)
        if stop_above < 1 and certainly_short(together(plan)):
            return 1.0, 0.0
        return _end(graded_chance_of_being_short(graded_in_blocks(plan), stop_above))

    def _with(self, come: tuple[Arrival, ...]) -> GradedPlan:
        made = tuple(GradedCopies(self._grade, arrival.copies, arrival.date) for arrival in come)
        return replace(self._plan, supply=(*self._plan.supply, *made))


def _end(chances: tuple[list[float], float]) -> tuple[float, float]:
    short, p_covered = chances
    return short[-1] if short else 0.0, p_covered


def _order(plan: Plan, shop: Shop, chances: _PlanChances) -> _Order:
    check_plan(plan)
    check_shop(shop)
    needing = [day.date for day in plan.days if day.copies_needed]
    room = (MOST_COPIES if all_alike(plan) else MOST_FOLLOWED) - plan.most_supplied
    limit = _most_of_use(posterior(plan.prior, plan.log), plan.needed, room)
    return _Order([day.date for day in plan.days], needing, plan.target, limit, shop, chances)


class _Order:
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
        chances: _Chances,
    ) -> None:
        self._dates = dates
        self._chances = chances
        self._target = target
        self._allowed = allowed_to_be_short(target)
        last = needing[-1] if needing else shop.today
        if (last - shop.today).days > MOST_DAYS_AHEAD:
            raise InvalidPlan("today", f"must not be more than {MOST_DAYS_AHEAD} days before the last day")
        self.making = Making(shop, last, limit)

    @property
    def most_reaches(self) -> bool:
        """Whether the target is met with all that can be made."""
        return self._reaches(self.making.most)

    def best(self) -> float:
        """The cover with all that can be made."""
        return self._covered(self.making.most)

    def worked_out(self) -> Reorder:
        most, days = self.making.most, self.making.days
        possible, best_p = self.most_reaches, self.best()
        around = _first(lambda count: self._may_reach(count), most)
        if possible:
            copies = _first(lambda count: self._reaches(count), most, around)
        else:
            enough = best_p * self._target
            copies = _first(lambda count: self._covered(count) >= enough, most, around)
        start = 0
        if possible and copies:
            # The first day too late, looked for among those after the first.
            last = len(days) - 1
            around = _first(lambda later: not self._may_reach(copies, later + 1), last)
            start = _first(lambda later: not self._reaches(copies, later + 1), last, around)
        return Reorder(
            copies=copies,
            pours=self.making.pours(copies),
            latest_start=days[start] if possible and copies else None,
            possible=possible,
            best_p_covered=best_p,
            p_covered=self._covered(copies, start),
            still_short=None if possible else self._at_risk(),
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
        return self.making.arrivals(copies, start) if copies else ()

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


class Remedy(enum.StrEnum):
    """What may help when the target is out of reach."""

    ONE_MORE_MOULD = "one more mould"
    MOVE_A_DAY = "move a shoot day"
    LOWER_GRADE = "accept a lower grade"


@dataclass(frozen=True)
class Fix:
    """One remedy, worked out: `reorder` is the order with it. `enough`: whether the target is then reached,
    by the order or without any. `moved` and `to`: the shoot day moved and its new date. `copies`: copies of a
    lower grade that would serve.
    """

    remedy: Remedy
    enough: bool
    p_covered: float
    reorder: Reorder
    moved: datetime.date | None = None
    to: datetime.date | None = None
    copies: int = 0


def work_out_fixes(plan: Plan, shop: Shop, lower_grade: Sequence[DatedCopies | int] = ()) -> tuple[Fix, ...]:
    """What would help a plan whose target is out of reach, best first; nothing when it is in reach.

    - One more mould like the one there is, from today on.
    - One shoot day moved to the next date without one, at most MOST_DAYS_MOVED days later: of all days up to
      the one still short the move that reaches the target with the fewest days between, or else the one that
      helps most.
    - Accepting `lower_grade`: copies of a lower grade on set, counts without a shelf date or with one.

    A remedy that does not raise the best cover is left out.
    """
    without = work_out_reorder(plan, shop)
    if without.possible:
        return ()
    fixes = []

    def tried(remedy: Remedy, plan: Plan, shop: Shop) -> Fix:
        reorder = work_out_reorder(plan, shop)
        return Fix(remedy, reorder.possible, reorder.best_p_covered, reorder)

    mould = replace(shop.mould, moulds=shop.mould.moulds + 1)
    fixes.append(tried(Remedy.ONE_MORE_MOULD, plan, replace(shop, mould=mould)))
    if lower_grade:
        dated = tuple(lot for lot in lower_grade if isinstance(lot, DatedCopies))
        plain = sum(lot for lot in lower_grade if isinstance(lot, int))
        served = replace(plan, on_set=plan.on_set + plain, dated=(*plan.dated, *dated))
        fix = tried(Remedy.LOWER_GRADE, served, shop)
        fixes.append(replace(fix, copies=plain + sum(lot.copies for lot in dated)))
    moves = []
    for i, day in enumerate(plan.days):
        if without.still_short is None or day.date > without.still_short:
            break
        to = _free_date(plan, day.date)
        if not day.copies_needed or to is None:
            continue
        moved = _moved(plan, i, to)
        order = _order(moved, shop, _PlanChances(moved))
        enough, p_covered = order.most_reaches, order.best()
        moves.append((not enough, (to - day.date).days if enough else 0, -p_covered, day.date, to, moved))
    if moves:
        *_, date, to, moved = min(moves, key=lambda move: move[:4])
        fixes.append(replace(tried(Remedy.MOVE_A_DAY, moved, shop), moved=date, to=to))
    helping = [fix for fix in fixes if fix.p_covered > without.best_p_covered + _AS_GOOD]
    return tuple(sorted(helping, key=lambda fix: (not fix.enough, -fix.p_covered)))


def _free_date(plan: Plan, date: datetime.date) -> datetime.date | None:
    """The next date that is not a day of the plan."""
    taken = {day.date for day in plan.days}
    most = min(MOST_DAYS_MOVED, (datetime.date.max - date).days)
    later = (date + days * _DAY for days in range(1, most + 1))
    return next((to for to in later if to not in taken), None)


def _moved(plan: Plan, which: int, to: datetime.date) -> Plan:
    date = plan.days[which].date
    days = [replace(day, date=to) if i == which else day for i, day in enumerate(plan.days)]
    return replace(
        plan,
        days=tuple(sorted(days, key=lambda day: day.date)),
        set_aside=tuple(replace(each, date=to) if each.date == date else each for each in plan.set_aside),
    )


def plan_shared_mould(plans: Mapping[str, Plan], shop: Shop) -> dict[str, Reorder]:
    """The orders of several appliances (by any key) that are cast in one mould, none over its capacity.

    The appliance that must start first alone is served first; each of the others gets what room is left. If
    that leaves one out of reach and there are MOST_ORDERS_TRIED appliances or fewer, every order of serving
    is tried and the one kept that reaches most targets, then the greatest covers together. Then, last served
    first, each start is put off as long as its target allows with the others where they are: all
    `latest_start` hold together. A cycle may be shared: what counts is pours.
    """
    chances = {key: _PlanChances(plan) for key, plan in plans.items()}

    def orders_of(key: str, shop: Shop) -> _Order:
        return _order(plans[key], shop, chances[key])

    alone = {key: orders_of(key, shop).worked_out() for key in plans}
    wanting = [key for key, reorder in alone.items() if reorder.copies]
    wanting.sort(key=lambda key: alone[key].latest_start or shop.today)

    def in_turn(order: Sequence[str]) -> dict[str, Reorder]:
        """Each in turn in the room that is left, started as soon as can be."""
        served: dict[str, Reorder] = {}
        for key in order:
            left = orders_of(key, _booked(shop, served.values()))
            # The first has all the room that it has alone.
            reorder = left.worked_out() if served else alone[key]
            served[key] = replace(reorder, schedule=left.making.schedule(reorder.copies))
        return served

    served = in_turn(wanting)
    if len(wanting) <= MOST_ORDERS_TRIED and not all(reorder.possible for reorder in served.values()):
        served = max((in_turn(order) for order in itertools.permutations(wanting)), key=_reached)
    found = dict(alone)
    for key in reversed(served):
        others = {other: reorder for other, reorder in served.items() if other != key}
        left = orders_of(key, _booked(shop, others.values()))
        served[key] = found[key] = left.worked_out()
    return found


def _reached(served: Mapping[str, Reorder]) -> tuple[int, float]:
    reorders = served.values()
    return sum(each.possible for each in reorders), sum(each.best_p_covered for each in reorders)


def _booked(shop: Shop, reorders: Iterable[Reorder]) -> Shop:
    booked = Counter(shop.booked)
    for reorder in reorders:
        for day in reorder.schedule:
            booked[day.date] += day.pours
    return replace(shop, booked=dict(booked))
