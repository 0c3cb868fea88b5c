"""Until when a material lasts."""

from __future__ import annotations

import datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from continuity.stock.lasting import LotLeft, Use, how_long

D = Decimal
TODAY = datetime.date(2026, 11, 25)


def _on(ahead: int) -> datetime.date:
    return TODAY + datetime.timedelta(days=ahead)


def _lot(amount: int, keeps: int | None = None) -> LotLeft:
    return LotLeft(D(amount), None if keeps is None else _on(keeps))


def test_it_lasts_until_the_day_before_it_is_short() -> None:
    """By hand: 10 are left; 4 go on day 2 and 4 on day 5, so the 4 of day 9 are 2 short."""
    found = how_long([_lot(10)], [Use(_on(9), D(4)), Use(_on(2), D(4)), Use(_on(5), D(4))], TODAY)
    assert (found.usable, found.expected) == (D(10), D(12))
    assert (found.until, found.first_day_short) == (_on(8), _on(9))


def test_it_is_enough_for_all_that_is_planned() -> None:
    found = how_long([_lot(6), _lot(6)], [Use(_on(2), D(4)), Use(_on(9), D(8))], TODAY)
    assert (found.until, found.first_day_short) == (None, None)


def test_what_is_past_its_date_is_not_there() -> None:
    found = how_long([_lot(10, -1), _lot(3)], [Use(_on(1), D(4))], TODAY)
    assert (found.usable, found.first_day_short) == (D(3), _on(1))
    assert how_long([_lot(10, 0)], [Use(_on(0), D(4))], TODAY).first_day_short is None


def test_what_keeps_shortest_is_used_first() -> None:
    """By hand: the lot that keeps until day 3 serves day 2, and the other is whole for day 9."""
    found = how_long([_lot(5), _lot(5, 3)], [Use(_on(2), D(5)), Use(_on(9), D(5))], TODAY)
    assert found.first_day_short is None
    late = how_long([_lot(5), _lot(5, 3)], [Use(_on(4), D(5)), Use(_on(9), D(5))], TODAY)
    assert late.first_day_short == _on(9)


def test_what_will_be_past_its_date_before_it_is_used() -> None:
    found = how_long([_lot(5, 3)], [Use(_on(2), D(1)), Use(_on(3), D(1))], TODAY)
    assert found.spoils == D(3)
    assert how_long([_lot(5, 30)], [Use(_on(2), D(1))], TODAY).spoils == D(0)


def test_short_today_has_no_day_that_it_lasts_until() -> None:
    found = how_long([], [Use(_on(-2), D(1))], TODAY)
    assert (found.until, found.first_day_short, found.usable) == (None, TODAY, D(0))


amounts = st.integers(0, 30)
lots = st.lists(st.builds(_lot, amounts, st.none() | st.integers(-3, 20)), max_size=6)
uses = st.lists(
    st.builds(lambda ahead, amount: Use(_on(ahead), D(amount)), st.integers(0, 20), amounts), max_size=8
)


@given(lots, uses)
def test_more_left_never_lasts_shorter(left: list[LotLeft], wanted: list[Use]) -> None:
    before = how_long(left, wanted, TODAY)
    after = how_long([*left, _lot(5, 10)], wanted, TODAY)
    far = datetime.date.max
    assert (after.first_day_short or far) >= (before.first_day_short or far)


@given(lots, uses)
def test_it_is_short_exactly_when_no_way_of_using_the_lots_is_enough(
    left: list[LotLeft], wanted: list[Use]
) -> None:
    """Against Hall's condition: the uses of no stretch of days, up to the day looked at, may be more than
    what keeps until its first day."""
    found = how_long(left, wanted, TODAY)
    days = sorted({use.date for use in wanted})

    def enough_until(end: datetime.date) -> bool:
        return all(
            sum(use.amount for use in wanted if start <= use.date <= end)
            <= sum(lot.amount for lot in left if lot.keeps_until is None or lot.keeps_until >= start)
            for start in days
            if start <= end
        )

    short = next((day for day in days if not enough_until(day)), None)
    assert found.first_day_short == short
