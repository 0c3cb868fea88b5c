"""The weights and volumes of a batch."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.shop.batch import (
    Coats,
    Gel,
    Mix,
    OffRatio,
    Ratio,
    colour_for,
    cycles_of,
    decimal_of,
    encapsulator,
    gel_of_one_pour,
    mixes_of,
    off_ratio,
    sum_of,
)

D = Decimal
TENTH = D("0.1")


def test_the_example_of_the_trade() -> None:
    """8 g of A, 8 g of B and 7.5 g of deadener a copy. Common practice, no source."""
    gel = gel_of_one_pour(D("23.5"), D(0), Ratio(D(8), D(8), D("7.5")), TENTH)
    assert gel == Gel(D("8.0"), D("8.0"), D("7.5"))
    assert gel.total == D("23.5")
    # "Up to about 1 part" of deadener; common practice, no source.
    assert Ratio(D(8), D(8), D("7.5")).deadener_to_one == D("0.9375")


def test_a_batch_worked_out_by_hand() -> None:
    """Constructed here. A copy of 23.5 g at 1 : 1 : 0.9375 with 10 % for cups and sticks:

    23.5 x 1.1 = 25.85 g; of 2.9375 parts that is 25.85 / 2.9375 = 8.8 g a part,
    so A 8.8 g, B 8.8 g, deadener 8.8 x 0.9375 = 8.25 g, which a scale of 0.1 g shows as 8.3 g: 25.9 g a pour.
    Seven pours in a mould of four cavities are two cycles, of 4 and 3. Three can be poured from one mix, so
    the first cycle takes mixes of 2 and 2, the second one of 3:
    A and B 17.6 + 17.6 + 26.4 = 61.6 g each, deadener 16.6 + 16.6 + 24.9 = 58.1 g;
    in all 181.3 g = 7 x 25.9 g.
    """
    of_one = gel_of_one_pour(D("23.5"), D(10), Ratio(D(1), D(1), D("0.9375")), TENTH)
    assert of_one == Gel(D("8.8"), D("8.8"), D("8.3"))
    mixes = mixes_of(7, 4, 3, of_one)
    two, three = Gel(D("17.6"), D("17.6"), D("16.6")), Gel(D("26.4"), D("26.4"), D("24.9"))
    assert mixes == (Mix(1, 1, 2, two), Mix(1, 2, 2, two), Mix(2, 1, 3, three))
    assert sum_of(mix.gel for mix in mixes) == Gel(D("61.6"), D("61.6"), D("58.1"))
    assert sum_of(mix.gel for mix in mixes).total == D("181.3")


def test_encapsulator_worked_out_by_hand() -> None:
    """Constructed here. 40 cm² x 4 coats x 2 ml / 100 cm² = 3.2 ml a copy; seven copies 22.4 ml. At 1 : 5
    that is 22.4 / 6 = 3.73 ml of cap plastic: 4 ml, and 20 ml of alcohol."""
    coats = encapsulator(D(280), 4, D(2), D(1), D(5), D(1))
    assert coats == Coats(4, D(4), D(20))
    assert coats.total == D(24)


def test_encapsulator_in_units_that_are_kept_apart() -> None:
    """pint: an area times a depth is a volume."""
    unit: Any = pint.UnitRegistry()
    depth = 2 * unit.millilitre / (100 * unit.centimetre**2)
    wanted = (280 * unit.centimetre**2 * 4 * depth).to(unit.millilitre)
    exact = encapsulator(D(280), 4, D(2), D(1), D(5), D("0.0001"))
    assert float(exact.total) == pytest.approx(wanted.magnitude, abs=0.001)
    assert depth.to(unit.micrometre).magnitude == pytest.approx(200)


def test_grams_in_units_that_are_kept_apart() -> None:
    unit: Any = pint.UnitRegistry()
    ratio = Ratio(D(8), D(8), D("7.5"))
    gel = gel_of_one_pour(D("23.5"), D(10), ratio, D("0.000001"))
    whole = (23.5 * unit.gram * (1 + (10 * unit.percent).to("").magnitude)).to(unit.kilogram)
    assert float(gel.total) / 1000 == pytest.approx(whole.magnitude, abs=1e-8)


def test_colour_follows_the_grams() -> None:
    """Constructed here: 3 drops to 100 g, into 61.6 g, are 1.848 drops: 2."""
    assert colour_for(D(3), D(100), D("61.6"), D(1)) == D(2)


def test_a_tenth_is_a_tenth() -> None:
    assert decimal_of(0.1) == TENTH
    assert decimal_of(0.1) + decimal_of(0.2) == decimal_of(0.3)


def test_how_far_off_the_ratio() -> None:
    """Constructed here: B of 8.4 where A asks for 8.0 is 5 % too much."""
    ratio = Ratio(D(1), D(1), D(1))
    assert off_ratio(Gel(D(8), D("8.4"), D(8)), ratio, D(2)) == (OffRatio("b", D("8.4"), D(8), D(5)),)
    assert off_ratio(Gel(D(8), D("8.4"), D(8)), ratio, D(5)) == ()
    assert off_ratio(Gel(D(8), D(8), D("7.2")), ratio, D(2)) == (OffRatio("deadener", D("7.2"), D(8), D(10)),)
    assert off_ratio(Gel(D(0), D(8), D(8)), ratio, D(2)) == ()
    assert off_ratio(Gel(D(8), D(8), D(3)), Ratio(D(1), D(1), D(0)), D(2)) == ()


grams = st.decimals(D("0.1"), D(5000), places=2)
parts = st.decimals(D("0.1"), D(50), places=2)
steps = st.sampled_from([D("0.01"), D("0.1"), D("0.5"), D(1), D("0.05")])


@given(grams, st.decimals(0, 100, places=1), parts, parts, st.integers(1, 500), st.integers(1, 40),
       st.integers(1, 40), steps)  # fmt: skip
def test_every_sum_on_a_ticket_is_exact(
    copy: D, waste: D, part: D, deadener: D, pours: int, cavities: int, a_mix: int, step: D
) -> None:
    of_one = gel_of_one_pour(copy, waste, Ratio(part, part, deadener), step)
    mixes = mixes_of(pours, cavities, a_mix, of_one)
    whole = sum_of(mix.gel for mix in mixes)
    assert of_one.a == of_one.b
    assert whole == of_one.times(pours)
    assert whole.total == of_one.total * pours == sum((mix.gel.total for mix in mixes), D(0))
    assert whole.a + whole.b + whole.deadener == whole.total
    for weight in (of_one.a, of_one.deadener, whole.a, whole.deadener, whole.total):
        assert weight % step == 0
    # No part is off by more than half a step, so three are not by more than one and a half.
    assert abs(of_one.total - copy * (1 + waste / 100)) <= step * 3 / 2
    assert sum(mix.pours for mix in mixes) == pours
    assert all(1 <= mix.pours <= min(a_mix, cavities) for mix in mixes)
    by_cycle = [
        sum(mix.pours for mix in mixes if mix.cycle == cycle) for cycle in range(1, mixes[-1].cycle + 1)
    ]
    assert by_cycle == cycles_of(pours, cavities)
    assert all(in_cycle == cavities for in_cycle in by_cycle[:-1])


@given(parts, parts, st.integers(0, 12), st.decimals(1, 5000, places=1))
def test_there_is_enough_encapsulator_and_its_ratio_holds(cap: D, thinner: D, coats: int, area: D) -> None:
    step = D(1)
    found = encapsulator(area, coats, D("1.5"), cap, thinner, step)
    needed = area * coats * D("1.5") / 100
    assert found.cap_plastic >= needed * cap / (cap + thinner)
    assert found.cap_plastic < needed * cap / (cap + thinner) + step
    assert abs(found.thinner - found.cap_plastic * thinner / cap) <= step / 2
