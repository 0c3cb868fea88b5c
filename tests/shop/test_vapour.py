"""Solvent vapour in a room, beside the published limits."""

from __future__ import annotations

import math
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from continuity.shop.vapour import (
    DATA,
    Averaged,
    Release,
    Room,
    Solvent,
    concentration,
    exposure,
    highest_average,
    ppm_of_milligrams,
    screen,
)

# Engineering ToolBox, "Concentration of pollution" (2005): the table as printed, for a supply of 1 an hour
# into a room of 1, by air changes an hour and minutes.
MINUTES = (10, 20, 40, 80, 160, 320, 640)
TABLE = {
    0.5: (0.1599, 0.3070, 0.5669, 0.9732, 1.4728, 1.8610, 1.9903),
    1: (0.1535, 0.2835, 0.4866, 0.7364, 0.9305, 0.9952, 1.0000),
    2: (0.1417, 0.2433, 0.3682, 0.4653, 0.4976, 0.5000, 0.5000),
    4: (0.1216, 0.1841, 0.2326, 0.2488, 0.2500, 0.2500, 0.2500),
    8: (0.0921, 0.1163, 0.1244, 0.1250, 0.1250, 0.1250, 0.1250),
}


@pytest.mark.parametrize("changes", TABLE)
def test_the_published_table(changes: float) -> None:
    room = Room(1, changes)
    for minutes, printed in zip(MINUTES, TABLE[changes], strict=True):
        found = concentration(Release(minutes / 60, minutes), room, minutes)
        assert found == pytest.approx(printed, abs=6e-5)


def test_a_tracer_gas_that_falls() -> None:
    """Jayjock, "A simple tracer gas technique" (2013): a room of 20 m³ in which it halves in 1.4 hours has
    9.9 m³ of fresh air an hour; by the model 12.49, 9.75, 8.00 and 4.00 ppm at 0.5, 1, 1.4 and 2.8 hours."""
    changes = math.log(2) / 1.4
    assert 20 * changes == pytest.approx(9.9, abs=0.01)
    at_once = Release(16, 1e-6)
    room = Room(1, changes)
    for hours, printed in ((0.5, 12.49), (1, 9.75), (1.4, 8.00), (2.8, 4.00)):
        assert concentration(at_once, room, hours * 60) == pytest.approx(printed, abs=0.006)


# NIOSH Pocket Guide (recommended) and 29 CFR 1910.1000 Table Z-1 (permitted), ppm and mg/m³ as printed.
PUBLISHED = {
    Solvent.ISOPROPYL_ALCOHOL: {(400, 980), (500, 1225), (2000, None)},
    Solvent.ACETONE: {(250, 590), (1000, 2400), (2500, None)},
    Solvent.ETHYL_ACETATE: {(400, 1400), (2000, None)},
    Solvent.N_HEPTANE: {(85, 350), (440, 1800), (500, 2000), (750, None)},
}


@pytest.mark.parametrize("solvent", Solvent)
def test_limits_as_published(solvent: Solvent) -> None:
    assert {(limit.ppm, limit.milligrams) for limit in DATA[solvent].limits} == PUBLISHED[solvent]
    for limit in DATA[solvent].limits:
        assert limit.source
        if limit.milligrams:
            # They are rounded as printed: 983 is printed as 980, and 1441 as 1400.
            ppm = ppm_of_milligrams(limit.milligrams, DATA[solvent].molar_mass)
            assert ppm == pytest.approx(limit.ppm, rel=0.03)


def test_what_each_limit_is_averaged_over() -> None:
    """The ceiling of n-heptane is over 15 minutes, and isopropyl alcohol has a short-term limit; acetone and
    ethyl acetate have neither (NIOSH Pocket Guide; the latter two from memory)."""
    short = {
        solvent: [limit.ppm for limit in DATA[solvent].limits if limit.averaged is Averaged.QUARTER_HOUR]
        for solvent in Solvent
    }
    assert short == {
        Solvent.ISOPROPYL_ALCOHOL: [500],
        Solvent.ACETONE: [],
        Solvent.ETHYL_ACETATE: [],
        Solvent.N_HEPTANE: [440],
    }


# mg/m³ of 1 ppm, NIOSH Pocket Guide: isopropyl alcohol and acetone as read, the others from memory.
@pytest.mark.parametrize(
    ("solvent", "factor"),
    [(Solvent.ISOPROPYL_ALCOHOL, 2.46), (Solvent.ACETONE, 2.38), (Solvent.ETHYL_ACETATE, 3.60),
     (Solvent.N_HEPTANE, 4.10)],
)  # fmt: skip
def test_milligrams_to_ppm(solvent: Solvent, factor: float) -> None:
    assert ppm_of_milligrams(factor, DATA[solvent].molar_mass) == pytest.approx(1, abs=0.006 / factor)


def test_ppm_in_units_that_are_kept_apart() -> None:
    """pint: the ideal gas law at 25 °C and 1 atm gives 24.4654 l a mole; published tables use 24.45."""
    unit: Any = pint.UnitRegistry()
    molar_volume = (unit.molar_gas_constant * unit.Quantity(298.15, unit.kelvin) / unit.atmosphere).to(
        "l/mol"
    )
    assert molar_volume.magnitude == pytest.approx(24.4654, abs=1e-4)
    mass = (400e-6 / molar_volume * 60.1 * unit.gram / unit.mole).to("mg/m^3")
    assert ppm_of_milligrams(mass.magnitude, 60.1) == pytest.approx(400, rel=1e-3)


def test_ten_millilitres_in_a_closed_room() -> None:
    """Constructed here: 10 ml of isopropyl alcohol of 0.785 g/ml in 30 m³ are 7850 / 30 x 24.45 / 60.1 =
    106.45 ppm. Ours is of 0.79 g/ml, as the NIOSH Pocket Guide prints it."""
    found = screen(Solvent.ISOPROPYL_ALCOHOL, 10, 5, Room(30, 0))
    assert found.peak_ppm * 0.785 / 0.79 == pytest.approx(106.45, abs=0.02)
    # The lower explosive limit is 2 %, which is 20000 ppm.
    assert found.explosive_share == pytest.approx(found.peak_ppm / 20_000)


def test_a_closed_trailer_is_over_the_limits() -> None:
    """Constructed here: 200 ml in 20 m³ with no fresh air are 158000 / 20 x 24.45 / 60.1 = 3214 ppm:
    dangerous at once, and 16 % of the lower explosive limit."""
    found = screen(Solvent.ISOPROPYL_ALCOHOL, 200, 20, Room(20, 0))
    assert found.peak_ppm == pytest.approx(3214, abs=1)
    assert {against.limit.ppm for against in found.over} == {400, 500, 2000}
    assert found.explosive_share == pytest.approx(0.16, abs=0.001)
    aired = screen(Solvent.ISOPROPYL_ALCOHOL, 200, 20, Room(200, 12))
    assert not aired.over


rooms = st.builds(Room, st.floats(1, 1000), st.floats(0, 60))
releases = st.builds(Release, st.floats(1, 1e6), st.floats(0.5, 600))


@given(releases, rooms, st.floats(1, 900))
def test_what_is_breathed_is_what_is_in_the_air(release: Release, room: Room, until: float) -> None:
    """Against SciPy's integration of the concentration."""
    summed = quad(
        lambda minute: concentration(release, room, minute), 0, until, points=[min(release.minutes, until)]
    )[0]
    assert exposure(release, room, until) == pytest.approx(summed, rel=1e-6, abs=1e-9)


@given(releases, rooms)
def test_the_worst_quarter_of_an_hour_is_the_worst(release: Release, room: Room) -> None:
    worst = highest_average(release, room, 15)
    for step in range(121):
        start = step / 120 * (release.minutes + 30)
        other = (exposure(release, room, start + 15) - exposure(release, room, start)) / 15
        assert other <= worst * (1 + 1e-6)
    assert worst <= concentration(release, room, release.minutes) * (1 + 1e-9)


@pytest.mark.parametrize("air_changes", [0, 1e-9, 1e-4, 1000])
def test_hardly_any_air_and_very_much(air_changes: float) -> None:
    found = screen(Solvent.ACETONE, 100, 1440, Room(50, air_changes))
    assert all(math.isfinite(against.ppm) and against.ppm > 0 for against in found.against)
