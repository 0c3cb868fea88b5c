"""What a shop can make by when. All moulds are made up here unless a line names a source."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from continuity.cover.consumption import Beta
from continuity.cover.plan import Arrival, InvalidPlan
from continuity.cover.shop import Making, Mould, PourDay, Shop, check_shop

MONDAY = datetime.date(2026, 3, 2)
SURE = Beta(1e9, 1e-9)


def on(day: int) -> datetime.date:
    return MONDAY + datetime.timedelta(days=day)


def test_pours_are_the_quantile_of_the_beta_negative_binomial() -> None:
    # scipy.stats.betanbinom counts the copies that fail, so the good ones are added.
    making = Making(Shop(Mould(4, 2, good=21, poured=26), MONDAY), on(60), 100)
    for copies in (1, 5, 12, 40):
        rejected = stats.betanbinom(copies, 4 + 21, 1 + 5).ppf(0.9)
        assert making.pours(copies) == copies + rejected


@pytest.mark.parametrize(("copies", "rate", "confidence", "pours"), [
    (3, 0.8, 0.90, 5), (3, 0.8, 0.95, 6), (5, 0.85, 0.90, 7), (5, 0.85, 0.95, 8),
    (4, 0.7, 0.90, 8), (4, 0.7, 0.95, 9),
])  # fmt: skip
def test_with_a_known_yield_pours_are_negative_binomial(
    copies: int, rate: float, confidence: float, pours: int
) -> None:
    # Made up here, worked out with scipy.stats.nbinom.
    mould = Mould(2, 1, prior=Beta(rate * 1e9, (1 - rate) * 1e9), confidence=confidence)
    assert Making(Shop(mould, MONDAY), on(30), 20).pours(copies) == pours


def test_copies_arrive_as_they_are_made_on_working_days_with_transport() -> None:
    shop = Shop(
        Mould(2, 2, prior=SURE),
        today=on(3),
        transport_days=2,
        days_off=frozenset({on(7)}),
        weekdays_off=frozenset({5, 6}),
    )
    making = Making(shop, on(20), 100)
    # Thursday and Friday, then neither the weekend nor the Monday off.
    assert making.schedule(11) == (PourDay(on(3), 4), PourDay(on(4), 4), PourDay(on(8), 3))
    assert making.arrivals(11) == (Arrival(on(5), 4), Arrival(on(6), 4), Arrival(on(10), 3))
    assert making.arrivals(5, start=1) == (Arrival(on(6), 4), Arrival(on(10), 1))


def test_no_more_is_made_than_arrives_by_the_last_day() -> None:
    def most(last: int, transport: int, limit: int = 100) -> int:
        return Making(Shop(Mould(3, 1, prior=SURE), MONDAY, transport), on(last), limit).most

    assert most(0, 0) == 3
    assert most(0, 1) == 0
    assert most(4, 2) == 9
    assert most(-5, 0) == 0
    assert most(4, 2, limit=5) == 5


def test_what_is_booked_leaves_less_room() -> None:
    shop = Shop(Mould(3, 1, prior=SURE), MONDAY, booked={on(0): 2, on(1): 3, on(2): 9})
    assert Making(shop, on(3), 100).schedule(4) == (PourDay(on(0), 1), PourDay(on(3), 3))


@settings(max_examples=60)
@given(
    st.integers(1, 4),
    st.integers(1, 3),
    st.integers(0, 20),
    st.integers(0, 9),
    st.integers(0, 4),
    st.integers(0, 3),
)
def test_a_day_is_never_planned_over_what_the_mould_can_make(
    cavities: int, cycles: int, good: int, rejected: int, transport: int, booked: int
) -> None:
    shop = Shop(
        Mould(cavities, cycles, good, good + rejected), MONDAY, transport, weekdays_off=frozenset({6}),
        booked={on(1): booked},
    )  # fmt: skip
    making = Making(shop, on(25), 60)
    copies = making.most
    schedule = making.schedule(copies)
    assert sum(day.pours for day in schedule) == making.pours(copies)
    assert all(day.pours <= cavities * cycles and day.date.weekday() != 6 for day in schedule)
    assert all(day.pours + booked <= cavities * cycles for day in schedule if day.date == on(1))
    assert sum(arrival.copies for arrival in making.arrivals(copies)) == copies
    assert all(arrival.date <= on(25) for arrival in making.arrivals(copies))


@pytest.mark.parametrize(
    ("shop", "field"),
    [
        (Shop(Mould(0, 1), MONDAY), "mould.cavities"),
        (Shop(Mould(1, 0), MONDAY), "mould.cycles_per_day"),
        (Shop(Mould(1, 1, moulds=0), MONDAY), "mould.moulds"),
        (Shop(Mould(1, 1, -1, 0), MONDAY), "mould.yield.good"),
        (Shop(Mould(1, 1, 3, 2), MONDAY), "mould.yield.good"),
        (Shop(Mould(1, 1, confidence=1.0), MONDAY), "mould.confidence"),
        (Shop(Mould(1, 1), MONDAY, -1), "transport_days"),
    ],
)
def test_a_shop_that_breaks_its_rules_is_refused_by_field(shop: Shop, field: str) -> None:
    with pytest.raises(InvalidPlan) as refused:
        check_shop(shop)
    assert refused.value.field == field
