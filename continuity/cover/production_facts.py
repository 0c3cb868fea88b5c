"""What the cover of a production rests on, as plain values: `facts.py` reads them from the database, and a
"what if" is worked out from changed ones. Ids are text and are only compared.
"""

from __future__ import annotations

import datetime
import enum
from collections.abc import Mapping
from dataclasses import dataclass

from continuity.cover.consumption import Beta, UsageLog
from continuity.cover.demand import Look, PlannedScene, ShootDay
from continuity.stock.grade import Grade

BARE_FACE = Look("bare face", ())
"""Worn by a person in a scene without a look: whatever they wore before has come off."""


@dataclass(frozen=True)
class Settings:
    """What the production says of its cover and of its shop.

    `target`: the probability of never being short that is wanted. `prior`: of a copy's success rate, where
    the logs cannot tell. `yield_prior`: of a mould's yield. `pour_confidence`: that with which pours are
    enough. `transport_days`: calendar days from the shop to the set. `weekdays_off`: 0 for Monday to 6 for
    Sunday.
    """

    target: float
    prior: Beta
    yield_prior: Beta
    pour_confidence: float
    transport_days: int
    weekdays_off: frozenset[int]
    dates_off: frozenset[datetime.date]


@dataclass(frozen=True)
class ApplianceFacts:
    """`performer_id` is None for a generic appliance. `shelf_life_days` counts from the day of casting."""

    id: str
    name: str
    grade: Grade
    performer_id: str | None
    shelf_life_days: int | None


class Place(enum.StrEnum):
    """Where a copy is that can still be put on."""

    ON_SET = "on_set"
    IN_TRANSIT = "in_transit"
    SHOP = "shop"


@dataclass(frozen=True)
class CopyLot:
    """Copies of one appliance with everything in common, by serial. `expected_on` is the date on which those
    that are not on set will be; None when nobody has said. `set_aside_for` is the scene they are kept for.
    """

    appliance_id: str
    place: Place
    grade: Grade
    use_by: datetime.date | None
    expected_on: datetime.date | None
    set_aside_for: str | None
    serials: tuple[str, ...]

    @property
    def copies(self) -> int:
        return len(self.serials)


@dataclass(frozen=True)
class RunFacts:
    """A cast run without a result: `poured` copies, usable on set from `due_on` on as far as they pass."""

    id: str
    appliance_id: str
    mould_id: str
    cast_on: datetime.date
    due_on: datetime.date
    poured: int


ASKED_FOR, TAKEN_ON, CASTING, SENT = "asked_for", "taken_on", "casting", "sent"
"""What an order that stands may be."""


@dataclass(frozen=True)
class OrderFacts:
    """An order of `copies` good copies of `grade`, or better, that stands. `state` is one of the four above.

    `entered`: those of them that there are as copies, wherever they are now. `runs` are the cast runs for it.
    What is still to come is on set on `expected_on`; where nobody has said a day, as the mould makes it,
    begun on the working day `latest_start`, or today when that has gone by or the shop is at it; without a
    mould, on `needed_on`. `by_hand`: whether a person has raised it.
    """

    id: str
    appliance_id: str
    state: str
    copies: int
    entered: int
    runs: tuple[str, ...]
    grade: Grade
    mould_id: str | None
    latest_start: datetime.date | None
    needed_on: datetime.date
    expected_on: datetime.date | None
    by_hand: bool = False


@dataclass(frozen=True)
class MouldFacts:
    """Of `poured` copies so far `good` passed."""

    id: str
    name: str
    appliance_ids: tuple[str, ...]
    cavities: int
    cycles_per_day: int
    good: int
    poured: int

    @property
    def pours_a_day(self) -> int:
        return self.cavities * self.cycles_per_day


@dataclass(frozen=True)
class Logged:
    """An application logged with a good copy of the appliance, for today or a day to come."""

    appliance_id: str
    performer_id: str
    look_id: str
    date: datetime.date


@dataclass(frozen=True)
class ProductionFacts:
    """A production as it stands on the morning of `today`.

    `shoot_days` are those from today on, by date. `scenes` are all scenes, planned or not, without planned
    minutes. `looks` are by id, and hold `BARE_FACE`. `grades` is the grade a look asks for, by look and
    appliance, where that is not the appliance's own. `lots` are copies on set or coming, not past their
    date. `logs` are by appliance, of the whole production, also where the other facts are of some appliances
    only. `shot` are the scenes shot before today, of those for which copies are set aside.
    `orders` are those that stand, in the order in which the shop comes to them.
    """

    today: datetime.date
    settings: Settings
    appliances: tuple[ApplianceFacts, ...]
    shoot_days: tuple[ShootDay, ...]
    scenes: Mapping[str, PlannedScene]
    looks: Mapping[str, Look]
    grades: Mapping[tuple[str, str], Grade]
    lots: tuple[CopyLot, ...]
    runs: tuple[RunFacts, ...]
    moulds: tuple[MouldFacts, ...]
    logs: Mapping[str, UsageLog]
    logged: tuple[Logged, ...]
    shot: frozenset[str] = frozenset()
    orders: tuple[OrderFacts, ...] = ()
