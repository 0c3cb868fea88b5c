"""What the card gives away of the picture, and what is said of it. All pictures are constructed here."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from continuity.match.card import Balance, balance_from_24, balance_from_grey
from continuity.match.difference import ciede2000
from continuity.match.documents import Card, PatchRole, Spot
from continuity.match.light import Codes, Floats, lab_of
from continuity.match.measure import compare, read_photo
from continuity.match.patches import Circle, patch_of
from continuity.match.reference import LAB_D50, card_linear
from tests.match.scenes import encoded

SIZE, PITCH = 360, 50


def grey(scene: Floats, radius: float = 60) -> Balance:
    return balance_from_grey(patch_of(encoded(scene), Circle(SIZE / 2, SIZE / 2, radius)))


def plain(light: Any = 1.0) -> Floats:
    """A grey card that fills the picture, with a little grain, under this light, ``(rows, columns, 3)``."""
    grain = 1 + 0.01 * np.random.default_rng(1).standard_normal((SIZE, SIZE, 3))
    return np.asarray(0.18 * grain * light)


def slope(left: Any, right: Any) -> Floats:
    """Light that goes from one to the other across the middle third of the picture."""
    share = np.linspace(-1, 2, SIZE)[None, :, None]
    return np.asarray((1 - share) * np.array(left) + share * np.array(right))


def card_of_24(light: Any = 1.0, colours: Floats | None = None) -> Codes:
    scene = np.full((4 * PITCH, 6 * PITCH, 3), 0.02)
    for patch, colour in enumerate(card_linear() if colours is None else colours):
        left, top = (patch % 6) * PITCH + 5, (patch // 6) * PITCH + 5
        scene[top : top + PITCH - 10, left : left + PITCH - 10] = np.clip(colour, 0, 1)
    return encoded(scene * light)


def of_24(picture: Codes, pitch: int = PITCH) -> Balance:
    low, right, bottom = pitch / 2, 5.5 * pitch, 3.5 * pitch
    return balance_from_24(picture, [(low, low), (right, low), (right, bottom), (low, bottom)])


def said(balance: Balance, words: str, *, cannot: bool) -> bool:
    """Whether this is a reason why the picture cannot be measured, or else no more than a caution."""
    reason = any(words in each for each in balance.reasons)
    return reason if cannot else not reason and any(words in each for each in balance.cautions)


def test_a_good_card_has_nothing_to_be_said_of_it() -> None:
    for balance in (grey(plain()), grey(plain((1.2, 1, 0.6))), of_24(card_of_24())):
        assert (balance.reasons, balance.cautions) == ((), ())
    assert grey(plain((1.2, 1, 0.6))).gains == pytest.approx([1 / 1.2, 1, 1 / 0.6], rel=0.01)


@pytest.mark.parametrize(("share", "cannot"), [(0.05, False), (0.5, True)])
def test_clipped(share: float, cannot: bool) -> None:
    scene = plain(4.5)
    scene[: SIZE // 2 - 60 + round(120 * share)] = 1.0
    assert said(grey(scene), "clipped", cannot=cannot)


def test_too_dark() -> None:
    assert said(grey(plain(0.01)), "too dark", cannot=True)


@pytest.mark.parametrize(("radius", "cannot"), [(9, False), (3, True)])
def test_too_small(radius: float, cannot: bool) -> None:
    assert said(grey(plain(), radius), "too small", cannot=cannot)


@pytest.mark.parametrize(("darker", "cannot"), [(0.75, False), (0.4, True)])
def test_unevenly_lit(darker: float, cannot: bool) -> None:
    assert said(grey(plain(slope([1] * 3, [darker] * 3))), "unevenly lit", cannot=cannot)


@pytest.mark.parametrize(("blue", "cannot"), [(0.82, False), (0.55, True)])
def test_mixed_light(blue: float, cannot: bool) -> None:
    """Daylight from the left and a lamp from the right."""
    assert said(grey(plain(slope([1, 1, 1], [1.02, 1, blue]))), "mixed light", cannot=cannot)


def test_something_that_is_no_card() -> None:
    half = plain()
    half[:, SIZE // 2 :] = (0.5, 0.2, 0.1)
    assert grey(half).reasons
    third = plain()
    third[:, SIZE // 2 + 20 :] = (0.5, 0.2, 0.1)
    assert said(grey(third), "not one plain surface", cannot=True)
    assert said(grey(plain((3, 1, 0.3))), "strongly coloured", cannot=False)


def test_an_uneven_card_is_less_sure() -> None:
    def wavering(balance: Balance) -> float:
        return float((balance.deviations**2).sum())

    assert wavering(grey(plain(slope([1] * 3, [0.8] * 3)))) > 4 * wavering(grey(plain()))


# -- the card of 24 patches ---------------------------------------------------------------------------


def test_the_card_s_colours_are_those_published() -> None:
    """Light skin and dark skin against another edition, in sRGB codes 194, 150, 130 and 115, 82, 68 (from
    colour-science 0.4.7): within what the editions differ by."""
    dark, light = (encoded(card_linear()[patch]).astype(int) for patch in (0, 1))
    assert dark == pytest.approx([115, 82, 68], abs=4)
    assert light == pytest.approx([194, 150, 130], abs=7)
    assert LAB_D50[18:, 0] == pytest.approx(sorted(LAB_D50[18:, 0], reverse=True))
    assert lab_of(card_linear()[18:])[:, 0] == pytest.approx(LAB_D50[18:, 0], abs=0.5)


def test_24_patches_that_are_not_there() -> None:
    nothing = np.random.default_rng(1).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    assert said(of_24(nothing), "not found", cannot=True)
    assert said(of_24(np.full((200, 300, 3), 120, dtype=np.uint8)), "not found", cannot=True)


@pytest.mark.parametrize(
    "corners",
    [
        [(60, 60)] * 4,
        [(60, 60), (60, 60), (200, 60), (200, 160)],
        [(0, 0), (100, 0), (200, 0), (300, 0)],
        [(0, 0), (100, 0), (200, 0), (300, 200)],
        [(0, 0), (300, 200), (300, 0), (0, 0)],
        [(300, 200), (0, 200), (0, 200), (0, 0)],
    ],
)
def test_corners_that_no_card_can_have(corners: list[tuple[float, float]]) -> None:
    """Tapped twice in one place, or in a line."""
    assert said(balance_from_24(card_of_24(), corners), "not found", cannot=True)


def test_24_patches_in_two_lights() -> None:
    lamp = np.linspace(0, 1, 6 * PITCH)[None, :, None]
    mixed = (1 - lamp) * np.array([1, 1, 1.0]) + lamp * np.array([1.1, 1, 0.5])
    assert said(of_24(card_of_24(mixed)), "mixed light", cannot=True)


def test_24_patches_unevenly_lit() -> None:
    across = np.linspace(1, 0.35, 6 * PITCH)[None, :, None]
    assert said(of_24(card_of_24(across)), "unevenly lit", cannot=True)


def test_24_patches_burnt_out() -> None:
    assert said(of_24(card_of_24(2.0)), "clipped or too dark", cannot=False)
    assert said(of_24(card_of_24(4.5)), "clipped or too dark", cannot=True)


def test_24_patches_too_small() -> None:
    small = card_of_24()[::5, ::5]
    assert said(of_24(small, PITCH // 5), "too small", cannot=True)


def _filtered(contrast: float, colour: float) -> Codes:
    """A phone's filter, on the linear light of the patches: a steeper curve, stronger colours."""
    light = np.clip(card_linear(), 0.001, 1)
    grey_of_it = light.mean(axis=1, keepdims=True)
    strong = np.clip(grey_of_it + colour * (light - grey_of_it), 0.001, 1)
    return card_of_24(colours=0.9 * (strong / 0.9) ** contrast)


@pytest.mark.parametrize(
    ("contrast", "colour", "cannot"),
    [(2.4, 1, True), (0.4, 1, True), (1, 0.3, True), (1, 1.6, False), (0.65, 1, False)],
)
def test_a_phone_s_filter(contrast: float, colour: float, cannot: bool) -> None:
    assert said(of_24(_filtered(contrast, colour)), "a filter", cannot=cannot)


def test_greys_out_of_order() -> None:
    """A glint on one grey, which no camera's curve makes."""
    colours = card_linear().copy()
    colours[21] = colours[19] * 1.1
    assert said(of_24(card_of_24(colours=colours)), "do not get darker one by one", cannot=True)


def test_a_picture_without_colour() -> None:
    scene = np.full((200, 200, 3), 120, dtype=np.uint8)
    card = Card.model_validate({"sort": "grey", "spot": {"x": 0.5, "y": 0.5, "radius": 0.2}}, strict=False)
    reading = read_photo(scene, card, {}, [], 0)
    assert "it has no colour" in reading.reasons


GREY_IN_THE_MIDDLE = Card.model_validate(
    {"sort": "grey", "spot": {"x": 0.5, "y": 0.5, "radius": 0.15}}, strict=False
)


def _spot(x: float, y: float, radius: float = 0.06) -> Spot:
    return Spot(x=x, y=y, radius=radius)


def test_a_spot_that_is_burnt_out_or_has_few_pixels_is_told() -> None:
    scene = plain()
    scene[:60, :30] = 1.0
    spots = {
        "burnt": ("Brow", _spot(30 / SIZE, 30 / SIZE)),
        "small": ("Edge", _spot(0.9, 0.9, 3 / SIZE)),
        "good": ("Forehead", _spot(0.9, 0.1)),
    }
    reading = read_photo(encoded(scene), GREY_IN_THE_MIDDLE, spots, [], 0)
    assert reading.cautions == ("Brow is clipped in part", "Edge is too small: 6 pixels across are marked")


def test_several_pieces_are_taken_together_and_several_spots_of_skin() -> None:
    scene = plain()
    colours = {
        "one": (0.3, 0.15, 0.1),
        "two": (0.2, 0.2, 0.1),
        "skin": (0.35, 0.25, 0.2),
        "other": (0.4, 0.2, 0.2),
    }
    places = {"one": (40, 40), "two": (320, 40), "skin": (40, 320), "other": (320, 320)}
    for name, (x, y) in places.items():
        scene[y - 35 : y + 35, x - 35 : x + 35] = colours[name]
    spots = {name: (name, _spot(x / SIZE, y / SIZE)) for name, (x, y) in places.items()}
    readings = [read_photo(encoded(scene), GREY_IN_THE_MIDDLE, spots, [], stream) for stream in (0, 1)]
    roles = {name: PatchRole.SKIN if name in {"skin", "other"} else PatchRole.PIECE for name in places}
    found = compare(readings[0], readings[1], roles).contrast
    labs = {name: lab_of(np.array(colour)) for name, colour in colours.items()}
    pieces, skin = (labs["one"] + labs["two"]) / 2, (labs["skin"] + labs["other"]) / 2
    assert found is not None
    assert found.then == pytest.approx(float(ciede2000(pieces, skin)), abs=0.3)
    assert float(ciede2000(labs["one"], labs["skin"])) != pytest.approx(found.then, abs=1), (
        "not the first of each"
    )


def test_a_spot_at_the_edge_and_outside() -> None:
    """Whatever was tapped, there is a pixel."""
    picture = encoded(plain())
    for circle in (Circle(0, 0, 30), Circle(SIZE, SIZE, 1), Circle(-500, 9000, 4), Circle(5, 5, 1e-9)):
        assert lab_of(patch_of(picture, circle).mean)[0] == pytest.approx(49.5, abs=4)
