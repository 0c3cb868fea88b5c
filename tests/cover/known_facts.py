"""Facts of a production for the tests: one brow on one performer, shot in one scene, changed by keyword."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from continuity.cover.consumption import Beta
from continuity.cover.demand import Look, LookAppliance, PlannedScene, ShootDay, Worn
from continuity.cover.production_facts import (
    BARE_FACE,
    ApplianceFacts,
    CopyLot,
    MouldFacts,
    Place,
    ProductionFacts,
    RunFacts,
    Settings,
)
from continuity.stock.grade import Grade

TODAY = datetime.date(2026, 3, 2)
"""A Monday."""

SETTINGS = Settings(
    target=0.98,
    prior=Beta(9, 1),
    yield_prior=Beta(4, 1),
    pour_confidence=0.9,
    transport_days=1,
    weekdays_off=frozenset(),
    dates_off=frozenset(),
)


def date(ahead: int) -> datetime.date:
    return TODAY + datetime.timedelta(days=ahead)


def appliance(key: str = "brow", **more: Any) -> ApplianceFacts:
    known: dict[str, Any] = {"name": key, "grade": Grade.HERO, "performer_id": None, "shelf_life_days": None}
    return ApplianceFacts(key, **(known | more))


def look(key: str, *appliances: str) -> Look:
    return Look(key, tuple(LookAppliance(each, None, 1) for each in appliances))


def scene(key: str, *looks: str) -> PlannedScene:
    """Each look is worn by a performer of its own."""
    worn = tuple(Worn(f"performer of {each}", each) for each in looks)
    return PlannedScene(key, key, None, 8, worn)


def shoot_day(ahead: int, *scenes: PlannedScene) -> ShootDay:
    return ShootDay(f"day {ahead}", date(ahead), 420, 1080, scenes)


def lot(copies: int, key: str = "brow", place: Place = Place.ON_SET, **more: Any) -> CopyLot:
    known: dict[str, Any] = {"grade": Grade.HERO, "use_by": None, "expected_on": None, "set_aside_for": None}
    serials = tuple(f"{key} {n}" for n in range(copies))
    return CopyLot(key, place, serials=serials, **(known | more))


def run(poured: int, due: int, key: str = "brow", mould: str = "mould", cast: int = -1) -> RunFacts:
    return RunFacts(f"run {key} {due}", key, mould, date(cast), date(due), poured)


def mould(*appliances: str, key: str = "mould", cavities: int = 1, **more: Any) -> MouldFacts:
    known: dict[str, Any] = {"name": key, "cycles_per_day": 1, "good": 0, "poured": 0}
    return MouldFacts(key, appliance_ids=appliances or ("brow",), cavities=cavities, **(known | more))


def facts(days: Sequence[ShootDay] = (), lots: Sequence[CopyLot] = (), **more: Any) -> ProductionFacts:
    """A production whose looks are "cut" (wears the brow) and those given."""
    looks = {each.id: each for each in (BARE_FACE, look("cut", "brow"), *more.pop("looks", ()))}
    known: dict[str, Any] = {
        "today": TODAY,
        "settings": SETTINGS,
        "appliances": (appliance(),),
        "shoot_days": tuple(days),
        "scenes": {each.scene_id: each for day in days for each in day.scenes},
        "looks": looks,
        "grades": {},
        "lots": tuple(lots),
        "runs": (),
        "moulds": (mould(),),
        "logs": {},
        "logged": (),
    }
    return ProductionFacts(**(known | more))
