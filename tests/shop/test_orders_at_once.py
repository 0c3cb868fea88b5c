"""Two servers that work out the orders at the same moment leave one order."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import IntegrityError, connections, transaction

from continuity.cover.services import reconsider_orders, to_be_reconsidered
from continuity.cover.watch import look_once
from continuity.schedule.models import Production
from continuity.shop.models import Order
from tests.at_once import at_once
from tests.builders import assert_feed_is_whole, assert_kept_once
from tests.shop.season import Season, make_season


@pytest.fixture
def season(transactional_db: None) -> Iterator[Season]:
    yield make_season()
    connections.close_all()


def test_two_watchers_leave_one_order(season: Season) -> None:
    season.shoot(10, 11, 12)
    for more in range(13, 18):
        written = at_once(look_once, look_once)
        assert sum(written) <= 1
        look_once()
        assert Order.objects.count() == 1
        season.shoot(more)
    assert_feed_is_whole(season.show)


def test_two_servers_with_the_same_reading_leave_one_order(season: Season) -> None:
    season.shoot(10, 11, 12)
    at_once(*[lambda: reconsider_orders(season.id)] * 3)
    assert Order.objects.count() == 1
    assert len(season.orders()) == 1
    assert_feed_is_whole(season.show)


def test_phones_that_send_meanwhile_lose_nothing(season: Season) -> None:
    season.shoot(10, 11, 12)
    artist = season.show.set_artist
    entries = [artist.entry("material", {"name": f"Lot {n}", "use": "paint"}) for n in range(12)]

    def send() -> list[str]:
        return [artist.send(entry)[0]["result"] for entry in entries]

    def look() -> list[str]:
        for _ in range(4):
            look_once()
        return []

    sent, *_ = at_once(send, look, look)
    assert set(sent) == {"stored"}
    while to_be_reconsidered(Production.objects.get(id=season.id)):
        look_once()
    assert Order.objects.count() == 1
    assert_kept_once(season.show, *entries)


def test_the_database_has_the_last_word(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    order = Order.objects.get()
    twin = Order(
        production=Production.objects.get(id=season.id),
        appliance=order.appliance,
        mould=order.mould,
        copies=1,
        pours=1,
        needed_on=order.needed_on,
        possible=True,
        state="asked_for",
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save(force_insert=True)
