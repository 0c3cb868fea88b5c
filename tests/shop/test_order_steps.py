"""Who may take which step of an order: the whole table, as the trade has it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from continuity.cover.watch import look_once
from continuity.people.documents import Role
from continuity.shop.documents import OrderState
from continuity.shop.order_steps import STEPS, allowed
from tests.builders import ROLES
from tests.shop.season import Season

HEAD, ARTIST, CONTINUITY, SHOP = ROLES
STATES = [state.value for state in OrderState]
# The shop makes and the set receives; the head may do both, and calls off. Common practice, no source.
CASES = json.loads((Path(__file__).parent.parent / "cases" / "order_steps.json").read_text())
MAY = {(step["from"], step["to"]): set(step["roles"]) for step in CASES["steps"]}


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("state", STATES)
def test_the_table(state: str, role: str) -> None:
    may = {following for following in STATES if allowed(OrderState(state), OrderState(following), Role(role))}
    assert may == {to for (of, to), roles in MAY.items() if of == state and role in roles}


def test_no_step_is_left_out_of_the_cases() -> None:
    assert {(of.value, to.value) for of, to in STEPS} == MAY.keys()


def _at(season: Season, state: str) -> None:
    """Bring the one order to a state, as the head can."""
    way = {
        "asked_for": [],
        "taken_on": ["taken_on"],
        "casting": ["taken_on", "casting"],
        "sent": ["taken_on", "sent"],
        "arrived": ["taken_on", "arrived"],
        "called_off": ["called_off"],
    }
    for step in way[state]:
        assert season.write(season.order(), {"state": step}, HEAD)["result"] == "stored"


@pytest.mark.parametrize("state", STATES)
def test_every_step_over_the_network(season: Season, state: str) -> None:
    """Refused for whoever may not, with a code of its own, and for whom there is no such step."""
    season.show.head.send_ok(season.by_hand())
    _at(season, state)
    order = season.order()
    for following in STATES:
        for role in ROLES:
            if following == state or role in MAY.get((state, following), set()):
                continue
            result = season.write(order, {"state": following}, role)
            expected = (
                "not_allowed"
                if role == CONTINUITY
                else "not_your_step"
                if (state, following) in MAY
                else "no_such_step"
            )
            assert (result["result"], result["code"]) == ("refused", expected), (following, role)
            assert season.order() == order
    for following in STATES:
        for role in sorted(MAY.get((state, following), set())):
            assert season.write(season.order(), {"state": following}, role)["result"] == "stored"
            assert season.order()["document"]["state"] == following
            back = MAY.get((following, state))
            if back is None:
                return
            assert season.write(season.order(), {"state": state}, HEAD)["result"] == "stored"


def test_each_step_is_dated_and_by_whom(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    for role, state in ((SHOP, "taken_on"), (SHOP, "casting"), (SHOP, "sent"), (ARTIST, "arrived")):
        happened = f"2026-11-2{STATES.index(state)}T10:00:00+01:00"
        assert (
            season.write(season.order(), {"state": state}, role, happened_at=happened)["result"] == "stored"
        )
        order = season.order()
        assert order["document"]["state"] == state
        assert order["made_by"] == season.show.phone(role).crew
        assert order["happened_at"].startswith(f"2026-11-2{STATES.index(state)}T")


def test_an_old_phone_says_made(season: Season) -> None:
    """It knows of no parcel: the shop is done with it, and the set says when it is there."""
    season.shoot(10, 11, 12)
    look_once()
    season.write(season.order(), {"state": "taken_on"})
    assert season.write(season.order(), {"state": "made"})["result"] == "stored"
    assert season.order()["document"]["state"] == "sent"


def test_an_order_that_was_made_before_has_arrived(season: Season) -> None:
    """The migration that turns what earlier versions wrote into what is written now."""
    from importlib import import_module

    from django.apps import apps

    from continuity.shop.models import Order
    from continuity.sync.models import Record

    season.shoot(10, 11, 12)
    look_once()
    order = season.order()
    record = Record.objects.get(id=order["id"])
    record.document = {**record.document, "state": "made"}
    record.save()
    migration = import_module("continuity.shop.migrations.0003_made_orders_have_arrived")
    migration.made_have_arrived(apps, None)
    after = season.order()
    assert after["document"] == {**order["document"], "state": "arrived"}
    # At a new place in the feed, so that phones hear of it.
    assert after["seq"] > order["seq"]
    Order.objects.filter(id=order["id"]).update(state="arrived")
    migration.made_have_arrived(apps, None)
    assert season.order() == after
