"""Colours and places come back from pictures of which they are known.

Constructed here from a photo that scikit-image ships (``astronaut``, public domain): a card is drawn into it,
it is put into another light and another frame, and saved as a JPEG of quality 80.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from continuity.match.alignment import alignment_between
from continuity.match.card import Balance, balance_from_24, balance_from_grey
from continuity.match.difference import ciede2000
from continuity.match.documents import Card, CardSort, PatchRole, Point, Spot
from continuity.match.light import Codes, Floats, lab_of
from continuity.match.measure import Measurement, Reading, compare, read_photo
from continuity.match.patches import Circle, patch_of
from tests.match.scenes import (
    BACKDROP,
    GREY_SPOT,
    HEIGHT,
    SPOTS,
    WIDTH,
    Frame,
    corners_of_24,
    encoded,
    grained,
    in_other_light,
    portrait,
    through_jpeg,
    with_24_patches,
    with_grey_card,
)

CAMERAS: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({"cast": (1.0, 1.0, 1.0), "exposure": 1.0}, {"degrees": 0, "scale": 1.0, "shift": (0, 0)}),
    ({"cast": (1.2, 1.0, 0.6), "exposure": 0.8}, {"degrees": 9, "scale": 0.85, "shift": (36, -22)}),
    ({"cast": (0.75, 0.95, 1.2), "exposure": 0.9}, {"degrees": -8, "scale": 0.85, "shift": (-10, 14)}),
    ({"cast": (1.0, 0.9, 0.7), "exposure": 1.05}, {"degrees": -3, "scale": 0.9, "shift": (-13, 27)}),
]
EYES_AND_MOUTH = np.array([[960.0, 516.0], [1236.0, 504.0], [1101.0, 735.0]])


@pytest.fixture(scope="module")
def scene() -> Floats:
    return with_24_patches(with_grey_card(portrait()))


def _truth(scene: Floats, circle: Circle) -> Floats:
    """The colour of a place in the scene itself, before any light, frame and JPEG."""
    reach = 2 * int(circle.radius)
    left, top = max(0, int(circle.x) - reach), max(0, int(circle.y) - reach)
    around = encoded(scene[top : top + 2 * reach, left : left + 2 * reach])
    return lab_of(patch_of(around, Circle(circle.x - left, circle.y - top, circle.radius)).mean)


@pytest.fixture(scope="module", params=CAMERAS, ids=str)
def photo(scene: Floats, request: Any) -> tuple[Codes, Frame]:
    light, frame = request.param
    seen = Frame(**frame)
    return through_jpeg(grained(seen.picture(in_other_light(scene, **light)), seed=1)), seen


@pytest.mark.parametrize("card", ["grey", "patches_24"])
def test_the_colours_come_back(scene: Floats, photo: tuple[Codes, Frame], card: str) -> None:
    picture, seen = photo
    balance = _balance(picture, seen, card)
    assert balance.reasons == ()
    assert balance.cautions == ()
    for name, circle in SPOTS.items():
        patch = patch_of(picture, seen.circle(circle))
        found = lab_of(patch.mean * balance.gains)
        assert float(ciede2000(found, _truth(scene, circle))) < 1, name


@pytest.mark.parametrize("card", ["grey", "patches_24"])
def test_a_smooth_grey_comes_back_a_little_less_well(
    scene: Floats, photo: tuple[Codes, Frame], card: str
) -> None:
    """Where a surface has no grain of its own, the JPEG rounds all its blocks alike, and near grey CIEDE2000
    sees it: up to half as much again."""
    picture, seen = photo
    balance = _balance(picture, seen, card)
    found = lab_of(patch_of(picture, seen.circle(BACKDROP)).mean * balance.gains)
    assert float(ciede2000(found, _truth(scene, BACKDROP))) < 1.5


def _balance(picture: Codes, frame: Frame, card: str) -> Balance:
    if card == "grey":
        return balance_from_grey(patch_of(picture, frame.circle(GREY_SPOT)))
    return balance_from_24(picture, [(x, y) for x, y in frame.places(corners_of_24())])


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_card_of_24_is_found_whichever_way_up(scene: Floats, mirrored: bool) -> None:
    picture, corners = encoded(scene), corners_of_24()
    straight = balance_from_24(picture, [(x, y) for x, y in corners])
    if mirrored:
        picture, corners = picture[:, ::-1], np.column_stack([WIDTH - corners[:, 0], corners[:, 1]])
    for turn in range(4):
        for first in range(4):
            found = balance_from_24(picture, [(x, y) for x, y in np.roll(corners, first, axis=0)])
            assert found.reasons == ()
            assert found.gains == pytest.approx(straight.gains, rel=1e-9), (turn, first)
        corners = np.column_stack([corners[:, 1], picture.shape[1] - corners[:, 0]])
        picture = np.rot90(picture)


@pytest.mark.parametrize("frame", [frame for _, frame in CAMERAS], ids=str)
def test_the_places_come_back(frame: Any) -> None:
    """Three points, marked to the pixel, take every other place of the face to within a pixel of its own."""
    seen = Frame(**frame)
    found = alignment_between(EYES_AND_MOUTH, np.round(seen.places(EYES_AND_MOUTH)))
    face = np.array([[x, y] for x in range(960, 1241, 20) for y in range(490, 751, 20)], dtype=np.float64)
    assert np.hypot(*(found.moved(face) - seen.places(face)).T).max() < 1
    exact = alignment_between(EYES_AND_MOUTH, seen.places(EYES_AND_MOUTH))
    everywhere = np.array([[0.0, 0.0], [WIDTH, 0.0], [WIDTH, HEIGHT], [0.0, HEIGHT]])
    assert np.hypot(*(exact.moved(everywhere) - seen.places(everywhere)).T).max() < 1e-6


# -- two photos -------------------------------------------------------------------------------------------

STRAIGHT = {"degrees": 0, "scale": 1, "shift": (0, 0)}
THEN = ({"cast": (1.1, 1.0, 0.8), "exposure": 0.85}, STRAIGHT)
NOW = ({"cast": (0.8, 0.95, 1.1), "exposure": 0.7}, {"degrees": 6, "scale": 0.9, "shift": (16, 12)})
SORTS = ("grey", "patches_24")
Photo = tuple[Codes, Frame, int]


def _taken(scene: Floats, camera: Any, stream: int) -> Photo:
    light, frame = camera
    seen = Frame(**frame)
    return through_jpeg(grained(seen.picture(in_other_light(scene, **light)), stream)), seen, stream


def _painted(scene: Floats, circle: Circle, by: Floats) -> Floats:
    """The scene with one place, and a little round it, multiplied by this, as if painted over."""
    rows, columns = np.mgrid[0 : scene.shape[0], 0 : scene.shape[1]]
    inside = (columns + 0.5 - circle.x) ** 2 + (rows + 0.5 - circle.y) ** 2 <= (1.8 * circle.radius) ** 2
    changed = scene.copy()
    changed[inside] *= by
    return changed


def _card(frame: Frame, sort: str) -> Card:
    if sort == "grey":
        return Card(sort=CardSort.GREY, spot=_spot(frame.circle(GREY_SPOT)))
    return Card(sort=CardSort.PATCHES_24, corners=_points(frame.places(corners_of_24())))


def _spot(circle: Circle) -> Spot:
    return Spot(x=circle.x / WIDTH, y=circle.y / HEIGHT, radius=circle.radius / WIDTH)


def _points(places: Floats) -> list[Point]:
    return [Point(x=float(x) / WIDTH, y=float(y) / HEIGHT) for x, y in places]


def _read(photo: Photo, sort: str, align: Floats = EYES_AND_MOUTH) -> Reading:
    picture, frame, stream = photo
    spots = {name: (name, _spot(frame.circle(circle))) for name, circle in SPOTS.items()}
    return read_photo(picture, _card(frame, sort), spots, _points(frame.places(align)), stream)


def _measured(then: Photo, now: Photo, sort: str) -> Measurement:
    roles = dict.fromkeys(SPOTS, PatchRole.OTHER)
    roles["cheek"], roles["forehead"] = PatchRole.PIECE, PatchRole.SKIN
    return compare(_read(then, sort), _read(now, sort), roles)


@pytest.fixture(scope="module")
def then(scene: Floats) -> Photo:
    return _taken(scene, THEN, 0)


@pytest.fixture(scope="module")
def now(scene: Floats) -> Photo:
    return _taken(scene, NOW, 1)


@pytest.mark.parametrize("sort", SORTS)
def test_the_same_face_in_another_light_is_the_same(then: Photo, now: Photo, sort: str) -> None:
    found = _measured(then, now, sort)
    assert found.reasons == ()
    assert found.cautions == ()
    for name, difference in found.differences.items():
        assert difference.delta_e < 1.5, name
        assert difference.delta_e <= 1.5 * difference.uncertainty, name
        assert difference.uncertainty < 2.5, name
    assert found.contrast is not None
    assert abs(found.contrast.change) < 0.5
    assert found.contrast.shift < 1
    assert found.contrast.shift <= 1.5 * found.contrast.uncertainty


@pytest.mark.parametrize("by", [(1.0, 0.88, 0.85), (1.0, 1.06, 1.0)], ids=str)
def test_a_known_shift_of_one_patch_is_found(scene: Floats, then: Photo, by: Any) -> None:
    cheek = SPOTS["cheek"]
    changed = _painted(scene, cheek, np.array(by))
    true = float(ciede2000(_truth(scene, cheek), _truth(changed, cheek)))
    skin = _truth(scene, SPOTS["forehead"])
    now = _taken(changed, NOW, 1)
    for sort in SORTS:
        found = _measured(then, now, sort)
        assert found.differences["cheek"].delta_e == pytest.approx(true, abs=0.5)
        for name in SPOTS.keys() - {"cheek"}:
            assert found.differences[name].delta_e < 1.5, name
        assert found.contrast is not None
        apart = [float(ciede2000(_truth(each, cheek), skin)) for each in (scene, changed)]
        assert found.contrast.then == pytest.approx(apart[0], abs=0.5)
        assert found.contrast.now == pytest.approx(apart[1], abs=0.5)
        assert found.contrast.shift == pytest.approx(true, abs=0.5)


def test_measured_again_it_is_the_same_to_the_last_digit(then: Photo, now: Photo) -> None:
    assert _measured(then, now, "grey") == _measured(then, now, "grey")


@pytest.mark.parametrize(
    ("align", "told"),
    [
        (EYES_AND_MOUTH, 0),
        (EYES_AND_MOUTH[:2], 1),
        (EYES_AND_MOUTH[[0, 2, 1]], 1),
        (EYES_AND_MOUTH[[0, 0, 0]], 1),
    ],
)
def test_points_that_do_not_fit_are_told(then: Photo, now: Photo, align: Floats, told: int) -> None:
    found = compare(_read(then, "grey"), _read(now, "grey", align), {"cheek": PatchRole.PIECE})
    assert len(found.cautions) == told
