"""How long a gel can be worked at another temperature."""

from __future__ import annotations

import pytest

from continuity.shop.pot_life import Known, TooFar, at_temperature, pours_in_one_mix


def test_the_makers_temperature_gives_the_makers_time() -> None:
    """About 6 minutes at room temperature: common practice, no source."""
    assert at_temperature(Known(6, 23), 23) == 6


@pytest.mark.parametrize(("celsius", "minutes"), [(33, 3), (13, 12), (28, 4.243), (18, 8.485)])
def test_ten_degrees_warmer_is_half_the_time(celsius: float, minutes: float) -> None:
    """By hand: 6 x 2^(-(T - 23) / 10); 6 / √2 is 4.243."""
    assert at_temperature(Known(6, 23), celsius) == pytest.approx(minutes, abs=0.001)


@pytest.mark.parametrize("celsius", [12.9, 33.1, -20, 60])
def test_too_far_from_the_makers_temperature_it_says_so(celsius: float) -> None:
    with pytest.raises(TooFar, match="more than 10 °C apart"):
        at_temperature(Known(6, 23), celsius)


@pytest.mark.parametrize(
    ("minutes", "stirring", "a_cavity", "pours"),
    [(6, 60, 45, 6), (6, 60, 60, 5), (6, 60, 61, 4), (1, 60, 45, 0), (0.5, 60, 45, 0), (1.75, 60, 45, 1)],
)
def test_what_is_poured_before_it_sets(minutes: float, stirring: float, a_cavity: float, pours: int) -> None:
    """By hand: of 360 s, 60 go to stirring; 300 s are six cavities of 45 s, five of 60 s, four of 61 s."""
    assert pours_in_one_mix(minutes, stirring, a_cavity) == pours
