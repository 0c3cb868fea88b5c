"""What the shop can make of one appliance, and by when.

A pour is one cavity filled once: one copy, good or not. A mould makes cavities x cycles pours on a working
day. How many pours a number of good copies takes is uncertain, by the mould's yield: the pours until so many
are good are beta-negative-binomial, as the copies used are until so many have lasted (`consumption.py`). The
shop plans with the number of pours that is enough with a stated confidence. So of the pours made by some day
there are as many good copies, with that confidence, as have their pours made. They leave when they are made
and are on set `transport_days` calendar days after: 0 is on the day they are made.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from continuity.cover.consumption import Beta, quantiles_of_copies_used
from continuity.cover.plan import Arrival, InvalidPlan

DEFAULT_YIELD_PRIOR = Beta(good=4.0, spoiled=1.0)
"""The belief in a mould's yield before anything is cast: four of five copies pass, with the weight of five
copies, so that two cast runs outweigh it. Common practice, no source: yield is well below 100 % and differs
by mould.
"""

_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Mould:
    """`cavities` and `cycles_per_day` (both 1 or more) of each of `moulds` alike (1 or more). Of `poured`
    copies so far `good` passed. `confidence`, between 0 and 1, is that with which the pours planned are
    enough.
    """

    cavities: int
    cycles_per_day: int
    good: int = 0
    poured: int = 0
    prior: Beta = DEFAULT_YIELD_PRIOR
    confidence: float = 0.9
    moulds: int = 1

    @property
    def belief(self) -> Beta:
        """The belief in the yield after what has been cast."""
        return Beta(self.prior.good + self.good, self.prior.spoiled + self.poured - self.good)

    @property
    def pours_a_day(self) -> int:
        return self.cavities * self.cycles_per_day * self.moulds


@dataclass(frozen=True)
class Shop:
    """A mould and the days on which it can be used.

    `today`: the first day on which a pour may be made. `days_off`: dates; `weekdays_off`: 0 for Monday to 6
    for Sunday. `booked`: pours of a date that are promised to something else.
    """

    mould: Mould
    today: datetime.date
    transport_days: int = 0
    days_off: frozenset[datetime.date] = frozenset()
    weekdays_off: frozenset[int] = frozenset()
    booked: Mapping[datetime.date, int] = field(default_factory=dict, hash=False)

    def room(self, date: datetime.date) -> int:
        """Pours that can still be made on a date."""
        if date < self.today or date in self.days_off or date.weekday() in self.weekdays_off:
            return 0
        return max(0, self.mould.pours_a_day - self.booked.get(date, 0))

    def working_days(self, until: datetime.date) -> Iterator[tuple[datetime.date, int]]:
        """Dates from today on with room for a pour, up to and on `until`, and how many pours."""
        for days in range((until - self.today).days + 1):
            date = self.today + days * _DAY
            if room := self.room(date):
                yield date, room


@dataclass(frozen=True)
class PourDay:
    """So many pours on a date."""

    date: datetime.date
    pours: int


class Making:
    """The good copies a shop can have on set, one after another, up to and on the date `last`.

    Computed once and then asked many times: `most` is how many there can be at all when the shop starts
    today, and `limit` the most that are asked for.
    """

    def __init__(self, shop: Shop, last: datetime.date, limit: int) -> None:
        self._shop = shop
        in_time = (last - shop.today).days >= shop.transport_days
        found = list(shop.working_days(last - shop.transport_days * _DAY)) if in_time else []
        self.days = [day for day, _ in found]
        self._room = [room for _, room in found]
        pours = sum(self._room)
        limit = min(limit, pours)
        wanted = list(range(1, limit + 1))
        enough = quantiles_of_copies_used(shop.mould.belief, wanted, (shop.mould.confidence,))
        self._pours: list[int] = [0]
        for (needed,) in enough:
            if needed is None or needed > pours:
                break
            self._pours.append(needed)
        self.most = len(self._pours) - 1

    def pours(self, copies: int) -> int:
        """Pours for `copies` good ones (`most` or fewer) with the mould's confidence."""
        return self._pours[copies]

    def schedule(self, copies: int, start: int = 0) -> tuple[PourDay, ...]:
        """The pours for `copies` by day, begun on the working day of that number and done as soon as can be;
        what cannot be made by the last date is left out.
        """
        left = self._pours[copies]
        planned = []
        for day, room in zip(self.days[start:], self._room[start:], strict=True):
            if not left:
                break
            planned.append(PourDay(day, min(left, room)))
            left -= planned[-1].pours
        return tuple(planned)

    def arrivals(self, copies: int, start: int = 0) -> tuple[Arrival, ...]:
        """The same as copies on set by date."""
        come, made, pours = [], 0, 0
        for planned in self.schedule(copies, start):
            pours += planned.pours
            before = made
            while made < copies and self._pours[made + 1] <= pours:
                made += 1
            if made > before:
                on_set = planned.date + self._shop.transport_days * _DAY
                come.append(Arrival(on_set, made - before))
        return tuple(come)


def check_shop(shop: Shop) -> None:
    """Raises InvalidPlan, naming the field as the plan file does."""
    mould = shop.mould
    for name, count in (("cavities", mould.cavities), ("cycles_per_day", mould.cycles_per_day)):
        if count < 1:
            raise InvalidPlan(f"mould.{name}", "must be 1 or more")
    if mould.moulds < 1:
        raise InvalidPlan("mould.moulds", "must be 1 or more")
    if mould.good < 0:
        raise InvalidPlan("mould.yield.good", "must be 0 or more")
    if mould.poured < mould.good:
        raise InvalidPlan("mould.yield.good", "must not be more than were poured")
    if not 0 < mould.confidence < 1:
        raise InvalidPlan("mould.confidence", "must be above 0 and below 1")
    if shop.transport_days < 0:
        raise InvalidPlan("transport_days", "must be 0 or more")
