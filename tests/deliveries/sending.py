"""What the tests of deliveries share: setting up destinations, and letting time pass."""

from __future__ import annotations

import datetime
import json
from typing import Any

from django.db.models import F

from continuity.deliveries.models import DeliveryState, Outgoing
from continuity.deliveries.sender import deliver_once
from tests.deliveries.receivers import HttpReceiver, Received
from tests.shop.season import Season

Json = dict[str, Any]


def told(season: Season, sort: str, address: str, **more: Any) -> Json:
    """Have an address told of every order; the destination as the head sees it."""
    head = season.show.head
    sent = {"sort": sort, "address": address, **more}
    answer = head.account.post(head.path("destinations"), sent)
    assert answer.status == 201, answer.body
    (found,) = [each for each in answer.body["destinations"] if each["address"] == address]
    return dict(found)


def raise_order(season: Season, **more: Any) -> str:
    """An order by hand; its id."""
    entry = season.by_hand(**more)
    season.show.head.send_ok(entry)
    return str(entry["record"])


def step(season: Season, order: str, **patch: Any) -> None:
    """The head writes of an order."""
    (now,) = [each for each in season.orders() if each["id"] == order]
    assert season.write(now, patch, "department_head")["result"] == "stored"


def pass_time(**span: float) -> None:
    """So much time goes by for everything that waits."""
    for_all = datetime.timedelta(**span)
    Outgoing.objects.filter(state=DeliveryState.WAITING).update(
        next_at=F("next_at") - for_all, since=F("since") - for_all
    )
    held = Outgoing.objects.exclude(leased_until=None)
    held.update(leased_until=F("leased_until") - for_all)


def send_until_done(rounds: int = 20) -> None:
    """Look again and again, half an hour apart, as long as something waits."""
    for _ in range(rounds):
        deliver_once()
        if not Outgoing.objects.filter(state=DeliveryState.WAITING).exists():
            return
        pass_time(minutes=31)


def sequences(requests: list[Received]) -> dict[str, list[int]]:
    """By order, the numbers of the messages that came, in the order in which they came."""
    found: dict[str, list[int]] = {}
    for request in requests:
        data = json.loads(request.body)["data"]
        found.setdefault(data["order"], []).append(data["sequence"])
    return found


def assert_doubles_carry_the_same_id(receiver: HttpReceiver) -> None:
    by_message: dict[tuple[str, int], set[tuple[str, bytes]]] = {}
    for request in receiver.received:
        data = json.loads(request.body)["data"]
        key = data["order"], data["sequence"]
        by_message.setdefault(key, set()).add((request.headers["webhook-id"], request.body))
    assert all(len(same) == 1 for same in by_message.values())
    ids = [identity for same in by_message.values() for identity, _ in same]
    assert len(ids) == len(set(ids))


def waiting() -> list[Outgoing]:
    return list(Outgoing.objects.filter(state=DeliveryState.WAITING).order_by("written_at"))
