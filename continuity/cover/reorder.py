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

import datetime
import enum
import itertools
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from continuity.cover.calculation import certainly_short, chance_of_being_short
from continuity.cover.consumption import Beta, posterior, quantile_of_copies_used
from continuity.cover.grades import (
    GradedCopies,
    GradedPlan,
    graded_chance_of_being_short,
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
    reach, the fewest that give the best cover.
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
    return _order(plan, shop).worked_out()


def work_out_graded_reorder(plan: GradedPlan, shop: Shop, grade: Grade) -> Reorder:
    """The same for an appliance whose looks ask for several grades, with copies made that pass as `grade`.

    With `Grade.HERO` the order is the smallest that serves every look; a lower grade may not help at all.
    """
    check_shop(shop)

    def chances(come: Sequence[Arrival], stop_above: float) -> tuple[list[float], float]:
        made = tuple(GradedCopies(grade, arrival.copies, arrival.date) for arrival in come)
        with_them = replace(plan, supply=(*plan.supply, *made))
        if stop_above < 1 and certainly_short(together(with_them)):
            return [1.0] * len(plan.days), 0.0
        return graded_chance_of_being_short(with_them, stop_above)

    needing = [day.date for day in plan.days if any(day.copies_needed.values())]
    needed = sum(sum(day.copies_needed.values()) for day in plan.days)
    room = MOST_FOLLOWED - sum(lot.copies for lot in plan.supply)
    limit = _most_of_use(posterior(plan.prior, plan.log), needed, room)
    dates = [day.date for day in plan.days]
    return _Order(dates, needing, plan.target, limit, shop, chances).worked_out()


def _order(plan: Plan, shop: Shop) -> _Order:
    check_plan(plan)
    check_shop(shop)

    def chances(come: Sequence[Arrival], stop_above: float) -> tuple[list[float], float]:
        with_them = replace(plan, arrivals=(*plan.arrivals, *come))
        if stop_above < 1 and certainly_short(with_them):
            return [1.0] * len(plan.days), 0.0
        return chance_of_being_short(with_them, stop_above)

    needing = [day.date for day in plan.days if day.copies_needed]
    room = (MOST_COPIES if all_alike(plan) else MOST_FOLLOWED) - plan.most_supplied
    limit = _most_of_use(posterior(plan.prior, plan.log), plan.needed, room)
    return _Order([day.date for day in plan.days], needing, plan.target, limit, shop, chances)


class _Order:
    """A search for an order. `dates`: the days of the plan, `needing`: those that need copies; `limit`: the
    most copies to order; `chances`: `p_short_by` of each day and the cover, with such copies to come, not
    followed beyond the day that passes the chance given.
    """

    def __init__(
        self,
        dates: Sequence[datetime.date],
        needing: Sequence[datetime.date],
        target: float,
        limit: int,
        shop: Shop,
        chances: Callable[[Sequence[Arrival], float], tuple[list[float], float]],
    ) -> None:
        self._dates = dates
        self._chances = chances
        self._allowed = allowed_to_be_short(target)
        last = needing[-1] if needing else shop.today
        if (last - shop.today).days > MOST_DAYS_AHEAD:
            raise InvalidPlan("today", f"must not be more than {MOST_DAYS_AHEAD} days before the last day")
        self.making = Making(shop, last, limit)
        # What was followed to the end is not followed twice.
        self._followed: dict[tuple[int, int], tuple[list[float], float]] = {}

    def short(self, copies: int, start: int = 0) -> tuple[list[float], float]:
        """`p_short_by` of each day and the cover with so many copies from that working day on."""
        return self._with(copies, start, 1.0)

    def reaches(self, copies: int, start: int = 0) -> bool:
        return self._risk(self._with(copies, start, self._allowed)[0]) <= self._allowed

    def _with(self, copies: int, start: int, stop_above: float) -> tuple[list[float], float]:
        known = self._followed.get((copies, start))
        if known is None:
            come = self.making.arrivals(copies, start) if copies else ()
            known = self._chances(come, stop_above)
            if self._risk(known[0]) <= stop_above:
                self._followed[copies, start] = known
        return known

    def worked_out(self) -> Reorder:
        most = self.making.most
        best, best_p = self.short(most)
        possible = self._risk(best) <= self._allowed
        if possible:
            copies = _first(lambda count: self.reaches(count), most)
        else:
            copies = _first(lambda count: self.short(count)[1] >= best_p * (1 - _AS_GOOD), most)
        start = 0
        if possible and copies:
            last = len(self.making.days) - 1
            # The first day too late, looked for among those after the first.
            start = _first(lambda later: not self.reaches(copies, later + 1), last)
        return Reorder(
            copies=copies,
            pours=self.making.pours(copies),
            latest_start=self.making.days[start] if possible and copies else None,
            possible=possible,
            best_p_covered=best_p,
            p_covered=self.short(copies, start)[1],
            still_short=self._at_risk(best),
            schedule=self.making.schedule(copies, start),
        )

    def _risk(self, short: Sequence[float]) -> float:
        return short[-1] if short else 0.0

    def _at_risk(self, short: Sequence[float]) -> datetime.date | None:
        days = zip(self._dates, short, strict=True)
        return next((date for date, chance in days if chance > self._allowed), None)


def _first(holds: Callable[[int], bool], last: int) -> int:
    """The smallest number from 0 for which `holds`, which once true stays true; `last` if none before is."""
    low, high = 0, last
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
        order = _order(moved, shop)
        short, p_covered = order.short(order.making.most)
        enough = short[-1] <= allowed_to_be_short(plan.target)
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
    alone = {key: work_out_reorder(plan, shop) for key, plan in plans.items()}
    wanting = [key for key, reorder in alone.items() if reorder.copies]
    wanting.sort(key=lambda key: alone[key].latest_start or shop.today)
    served = _in_turn(plans, shop, wanting, alone)
    if len(wanting) <= MOST_ORDERS_TRIED and not all(reorder.possible for reorder in served.values()):
        tries = (_in_turn(plans, shop, order, alone) for order in itertools.permutations(wanting))
        served = max(tries, key=_reached)
    found = dict(alone)
    for key in reversed(served):
        others = {other: reorder for other, reorder in served.items() if other != key}
        served[key] = found[key] = work_out_reorder(plans[key], _booked(shop, others.values()))
    return found


def _in_turn(
    plans: Mapping[str, Plan], shop: Shop, order: Sequence[str], alone: Mapping[str, Reorder]
) -> dict[str, Reorder]:
    """Each appliance in turn in the room that is left, started as soon as can be; the first has all the room
    that it has alone.
    """
    served: dict[str, Reorder] = {}
    for key in order:
        left = _order(plans[key], _booked(shop, served.values()))
        reorder = left.worked_out() if served else alone[key]
        served[key] = replace(reorder, schedule=left.making.schedule(reorder.copies))
    return served


def _reached(served: Mapping[str, Reorder]) -> tuple[int, float]:
    reorders = served.values()
    return sum(each.possible for each in reorders), sum(each.best_p_covered for each in reorders)


def _booked(shop: Shop, reorders: Iterable[Reorder]) -> Shop:
    booked = Counter(shop.booked)
    for reorder in reorders:
        for day in reorder.schedule:
            booked[day.date] += day.pours
    return replace(shop, booked=dict(booked))
