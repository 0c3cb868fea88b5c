"""CIEDE2000 and L*a*b* against published values, and the words that go with a difference."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import rgb2lab

from continuity.match.difference import ciede2000
from continuity.match.light import GREY_CARD, lab_of, linear_light
from continuity.match.words import Bounds, word_for

# G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary
# test data, and mathematical observations", Color Research & Application 30(1):21-30, 2005, table 1. The rows
# are from memory; two libraries (scikit-image and colour-science) give every one of the 34 differences to
# four places, so a slip of memory that would change one is excluded. L1, a1, b1, L2, a2, b2, CIEDE2000.
SHARMA_WU_DALAL = """
50.0000 2.6772 -79.7751 50.0000 0.0000 -82.7485 2.0425
50.0000 3.1571 -77.2803 50.0000 0.0000 -82.7485 2.8615
50.0000 2.8361 -74.0200 50.0000 0.0000 -82.7485 3.4412
50.0000 -1.3802 -84.2814 50.0000 0.0000 -82.7485 1.0000
50.0000 -1.1848 -84.8006 50.0000 0.0000 -82.7485 1.0000
50.0000 -0.9009 -85.5211 50.0000 0.0000 -82.7485 1.0000
50.0000 0.0000 0.0000 50.0000 -1.0000 2.0000 2.3669
50.0000 -1.0000 2.0000 50.0000 0.0000 0.0000 2.3669
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0009 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0010 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0011 7.2195
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0012 7.2195
50.0000 -0.0010 2.4900 50.0000 0.0009 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0010 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0011 -2.4900 4.7461
50.0000 2.5000 0.0000 50.0000 0.0000 -2.5000 4.3065
50.0000 2.5000 0.0000 73.0000 25.0000 -18.0000 27.1492
50.0000 2.5000 0.0000 61.0000 -5.0000 29.0000 22.8977
50.0000 2.5000 0.0000 56.0000 -27.0000 -3.0000 31.9030
50.0000 2.5000 0.0000 58.0000 24.0000 15.0000 19.4535
50.0000 2.5000 0.0000 50.0000 3.1736 0.5854 1.0000
50.0000 2.5000 0.0000 50.0000 3.2972 0.0000 1.0000
50.0000 2.5000 0.0000 50.0000 1.8634 0.5757 1.0000
50.0000 2.5000 0.0000 50.0000 3.2592 0.3350 1.0000
60.2574 -34.0099 36.2677 60.4626 -34.1751 39.4387 1.2644
63.0109 -31.0961 -5.8663 62.8187 -29.7946 -4.0864 1.2630
61.2901 3.7196 -5.3901 61.4292 2.2480 -4.9620 1.8731
35.0831 -44.1164 3.7933 35.0232 -40.0716 1.5901 1.8645
22.7233 20.0904 -46.6940 23.0331 14.9730 -42.5619 2.0373
36.4612 47.8580 18.3852 36.2715 50.5065 21.2231 1.4146
90.8027 -2.0831 1.4410 91.1528 -1.6435 0.0447 1.4441
90.9257 -0.5406 -0.9208 88.6381 -0.8985 -0.7239 1.5381
6.7747 -0.2908 -2.4247 5.8714 -0.0985 -2.2286 0.6377
2.0776 0.0795 -1.1350 0.9033 -0.0636 -0.5514 0.9082
"""
PAIRS = [[float(number) for number in line.split()] for line in SHARMA_WU_DALAL.split("\n") if line]


def test_there_are_34_pairs() -> None:
    assert len(PAIRS) == 34


@pytest.mark.parametrize("pair", PAIRS, ids=[str(number) for number in range(1, 35)])
def test_the_pairs_of_sharma_wu_and_dalal(pair: list[float]) -> None:
    first, second = np.array(pair[:3]), np.array(pair[3:6])
    assert float(ciede2000(first, second)) == pytest.approx(pair[6], abs=1e-4)
    assert float(ciede2000(second, first)) == pytest.approx(pair[6], abs=1e-4)


def test_the_lightness_of_a_grey_card() -> None:
    """49.496108, by the formula of CIE L* for Y = 0.18, by hand: 116 times its cube root less 16."""
    lightness, red_green, yellow_blue = lab_of(np.full(3, GREY_CARD))
    assert lightness == pytest.approx(49.496108, abs=1e-5)
    assert red_green == pytest.approx(0, abs=1e-3)
    assert yellow_blue == pytest.approx(0, abs=1e-3)


def test_codes_in_linear_light() -> None:
    """IEC 61966-2-1, worked out with colour-science."""
    codes = np.array([0, 118, 119, 128, 255], dtype=np.uint8)
    assert linear_light(codes) == pytest.approx([0, 0.181164, 0.184475, 0.215861, 1], abs=1e-6)


def test_every_colour_as_scikit_image_has_it() -> None:
    """Its matrix and white are rounded in another place: 0.03, as between it and colour-science."""
    steps = np.linspace(0, 255, 9).astype(np.uint8)
    codes = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    assert lab_of(linear_light(codes)) == pytest.approx(np.asarray(rgb2lab(codes)), abs=0.03)


@pytest.mark.parametrize(
    ("difference", "word"),
    [
        (0, "not_visible"),
        (1, "not_visible"),
        (1.001, "close"),
        (2, "close"),
        (2.001, "visible"),
        (4, "visible"),
        (4.001, "wrong"),
        (60, "wrong"),
    ],
)
def test_words_of_a_difference(difference: float, word: str) -> None:
    """The bounds are common practice, no source."""
    assert word_for(difference, Bounds()) == word


def test_a_production_has_bounds_of_its_own() -> None:
    assert word_for(3, Bounds(not_visible=3, close=5, visible=9)) == "not_visible"
    assert word_for(0.5, Bounds(not_visible=0.1, close=0.2, visible=0.3)) == "wrong"
