"""How sure it is that a material lasts, from what was weighed. Cases constructed here."""

from __future__ import annotations

import datetime
import math
import random
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from scipy import stats

from continuity.stock.documents import MaterialDocument, MaterialUnit, MaterialUse, Weighing
from continuity.stock.lasting import LotLeft, Use
from continuity.stock.taking import (
    Drawn,
    Period,
    Taking,
    chance_it_lasts,
    learnt,
    periods_of,
    weighings_by_day,
)

TODAY = datetime.date(2026, 11, 25)
PERIODS = (Period(4, 9.0), Period(2, 4.6), Period(6, 11.4), Period(3, 7.2))


def _on(ahead: int) -> datetime.date:
    return TODAY + datetime.timedelta(days=ahead)


def _lot(*weighed: tuple[int, float], amount: float | None = 100) -> MaterialDocument:
    weighings = {
        UUID(int=place): Weighing(left=left, weighed_on=_on(day)) for place, (day, left) in enumerate(weighed)
    }
    return MaterialDocument(
        name="Gum",
        use=MaterialUse.ADHESIVE,
        unit=MaterialUnit.MILLILITRES,
        amount=amount,
        weighings=weighings,
    )


def _taking(*periods: Period) -> Taking:
    found = learnt(periods)
    assert found is not None
    return found


# Critical values of Student's t, NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2 (from
# memory): degrees of freedom, t at a probability of 0.95, t at 0.975.
CRITICAL = [(2, 2.920, 4.303), (3, 2.353, 3.182), (4, 2.132, 2.776), (10, 1.812, 2.228), (30, 1.697, 2.042)]


@pytest.mark.parametrize(("degrees", "at_95", "at_975"), CRITICAL)
def test_the_chance_by_a_printed_table(degrees: int, at_95: float, at_975: float) -> None:
    """One application more, of which the prediction has a scale of 1."""
    taking = Taking(mean=20, spread=math.sqrt(9 / 10), applications=9, periods=degrees + 1)
    assert taking.chance_within(1, 20 + at_95) == pytest.approx(0.95, abs=1e-4)
    assert taking.chance_within(1, 20 - at_975) == pytest.approx(0.025, abs=1e-4)
    assert taking.chance_within(1, 20) == pytest.approx(0.5)


def test_mean_and_spread_by_hand() -> None:
    """32.2 ml in 15 applications; squares over n: 0.0427, 0.0468, 0.3648, 0.1927 (to four places), together
    0.647, by 3."""
    taking = _taking(*PERIODS)
    assert taking.mean == pytest.approx(32.2 / 15)
    assert taking.spread == pytest.approx(math.sqrt(0.647 / 3), abs=1e-3)
    assert (taking.applications, taking.periods) == (15, 4)


def test_the_chance_against_scipys_weighted_regression() -> None:
    """The same sum as a regression: u / sqrt(n) on sqrt(n), whose slope and errors `scipy.linalg` gives."""
    from scipy import linalg

    design = [[math.sqrt(period.applications)] for period in PERIODS]
    seen = [period.used / math.sqrt(period.applications) for period in PERIODS]
    slope, residue, _, _ = linalg.lstsq(design, seen)
    degrees = len(PERIODS) - 1
    variance = float(residue) / degrees
    planned, left = 10, 24.0
    scale = math.sqrt(variance * (planned + planned**2 / 15))
    expected = stats.t.cdf(left, degrees, loc=planned * float(slope[0]), scale=scale)
    assert _taking(*PERIODS).chance_within(planned, left) == pytest.approx(expected, abs=1e-12)


def test_a_chance_of_so_much_comes_true_so_often() -> None:
    """By drawing: of amounts that are called enough to 90 %, nine in ten are. 4000 draws, four standard
    errors."""
    draw = random.Random(5)
    level = stats.t.ppf(0.9, 3)
    enough = 0
    for _ in range(4000):
        periods = [Period(n, draw.gauss(2 * n, 0.5 * math.sqrt(n))) for n in (4, 2, 6, 3)]
        taking = _taking(*periods)
        amount = 10 * taking.mean + level * taking.spread * math.sqrt(10 + 100 / 15)
        assert taking.chance_within(10, amount) == pytest.approx(0.9)
        enough += draw.gauss(20, 0.5 * math.sqrt(10)) <= amount
    assert abs(enough / 4000 - 0.9) < 4 * math.sqrt(0.09 / 4000)


@pytest.mark.parametrize(("said", "least"), [(0.9, 0.85), (0.98, 0.95)])
def test_use_that_is_skewed_makes_it_a_little_too_sure(said: float, least: float) -> None:
    """By drawing 4000 times from a gamma distribution whose standard deviation is half its mean of 2."""
    draw = random.Random(7)
    level = stats.t.ppf(said, 3)

    def taken(applications: int) -> float:
        return sum(draw.gammavariate(4, 0.5) for _ in range(applications))

    enough = 0
    for _ in range(4000):
        taking = _taking(*(Period(n, taken(n)) for n in (4, 2, 6, 3)))
        enough += taken(15) <= 15 * taking.mean + level * taking.spread * math.sqrt(15 + 15**2 / 15)
    assert least < enough / 4000 < said


def test_too_few_or_all_alike_tell_nothing() -> None:
    assert learnt(PERIODS[:2]) is None
    assert learnt([Period(2, 4.0), Period(3, 6.0), Period(5, 10.0)]) is None


def test_periods_by_hand() -> None:
    """100 ml; three applications and a run of 10 until day 3, two more until day 6, none until day 8."""
    lot = _lot((3, 80.0), (6, 76.0), (8, 75.0))
    draws = [Drawn(_on(day), None) for day in (1, 2, 3, 4, 6, 9)] + [Drawn(_on(2), Decimal(10))]
    assert periods_of(lot, draws) == [Period(3, 10.0), Period(2, 4.0)]


def test_without_an_amount_it_begins_at_the_first_weighing() -> None:
    draws = [Drawn(_on(1), None), Drawn(_on(5), None)]
    assert periods_of(_lot((3, 80.0), (6, 76.5), amount=None), draws) == [Period(1, 3.5)]


def test_a_slip_of_the_scale_is_no_period() -> None:
    """More left than before; and of two weighings on a day the later one counts."""
    draws = [Drawn(_on(day), None) for day in (1, 4)]
    assert periods_of(_lot((2, 90.0), (5, 95.0)), draws) == [Period(1, 10.0)]
    assert weighings_by_day(_lot((2, 9.0), (2, 90.0))) == [(_on(2), 90.0)]


def test_with_one_lot_it_is_the_chance_that_all_together_take_no_more() -> None:
    taking = _taking(*PERIODS)
    dates = [_on(day) for day in range(1, 11)]
    found = chance_it_lasts(taking, [LotLeft(Decimal(30), None)], dates, [Use(_on(2), Decimal(6))], TODAY)
    assert found == pytest.approx(taking.chance_within(10, 24.0), abs=1e-9)


def test_a_lot_that_does_not_keep_helps_only_while_it_keeps() -> None:
    """By hand: three of ten applications are until day 3, so the lot that keeps has to do for seven."""
    taking = _taking(*PERIODS)
    dates = [_on(day) for day in range(1, 11)]
    keeps = LotLeft(Decimal(12), None)
    both = chance_it_lasts(taking, [keeps, LotLeft(Decimal(12), _on(3))], dates, [], TODAY)
    assert both == pytest.approx(taking.chance_within(10, 10 * 12 / 7))
    spoilt = chance_it_lasts(taking, [keeps, LotLeft(Decimal(12), _on(-1))], dates, [], TODAY)
    assert spoilt == pytest.approx(taking.chance_within(10, 12))


def test_nothing_planned_and_nothing_left() -> None:
    taking = _taking(*PERIODS)
    lot = LotLeft(Decimal(5), None)
    assert chance_it_lasts(taking, [lot], [], [], TODAY) is None
    assert chance_it_lasts(taking, [lot], [_on(1)], [Use(_on(0), Decimal(9))], TODAY) == 0
    nothing = chance_it_lasts(taking, [], [_on(1)], [], TODAY)
    assert nothing is not None
    assert nothing < 0.05


def test_a_weighing_needs_a_unit() -> None:
    weighing = {uuid4(): Weighing(left=1, weighed_on=TODAY)}
    with pytest.raises(ValueError, match="unit is missing"):
        MaterialDocument(name="Gum", use=MaterialUse.ADHESIVE, weighings=weighing)
