"""The drawn photos: real pictures, the same every time, and the wound can be told from the bare face."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageChops, ImageStat

from continuity.demo.drawing import draw_photo
from continuity.demo.wounds import WOUNDS
from continuity.photos.documents import Angle, PhotoMoment


def _drawn(moment: PhotoMoment = PhotoMoment.APPLIED, **more: object) -> bytes:
    arguments: dict[str, object] = {
        "performer": "tamsin",
        "wound": "cut_brow",
        "stage": "fresh",
        "angle": Angle.FRONT,
        "moment": moment,
        "slate": None,
        "seed": "a seed",
        **more,
    }
    return draw_photo(**arguments)  # type: ignore[arg-type]


def _changed(one: bytes, other: bytes) -> tuple[int, int, int, int] | None:
    """The box around what differs clearly, by more than 24 of 255."""
    difference = ImageChops.difference(Image.open(io.BytesIO(one)), Image.open(io.BytesIO(other)))
    return difference.convert("L").point([0] * 25 + [255] * 231).getbbox()


def test_the_same_arguments_give_the_same_bytes() -> None:
    assert _drawn() == _drawn()
    assert _drawn() != _drawn(seed="another seed")


def test_a_photo_is_a_jpeg_of_the_size_said() -> None:
    picture = Image.open(io.BytesIO(_drawn()))
    assert picture.format == "JPEG"
    assert picture.size == (900, 1200)


@pytest.mark.parametrize(("wound", "stage"), list(WOUNDS))
def test_every_stage_of_every_wound_shows(wound: str, stage: str) -> None:
    worn = _drawn(wound=wound, stage=stage, performer="idris")
    bare = _drawn(wound=None, stage="", performer="idris")
    box = _changed(worn, bare)
    assert box is not None
    left, top, right, bottom = box
    # On the face, and not all over it.
    assert 150 < left < right < 760
    assert 250 < top < bottom < 950


def test_stages_of_one_wound_differ() -> None:
    for stage in ("day_1", "day_3"):
        assert _changed(_drawn(), _drawn(stage=stage)) is not None


def test_the_wound_is_on_the_left_side_of_the_face() -> None:
    """The performer's left is on the right of the picture, and is hidden from the right in profile."""
    front = _changed(_drawn(), _drawn(wound=None))
    assert front is not None
    assert front[0] > 450
    assert _changed(_drawn(angle=Angle.PROFILE_LEFT), _drawn(angle=Angle.PROFILE_LEFT, wound=None))
    hidden = _changed(_drawn(angle=Angle.PROFILE_RIGHT), _drawn(angle=Angle.PROFILE_RIGHT, wound=None))
    assert hidden is None


def test_a_slate_brings_a_grey_card() -> None:
    """18 % grey is about 119 of 255 (sRGB)."""
    picture = Image.open(io.BytesIO(_drawn(slate="SCENE 12   DAY 1")))
    patch = picture.crop((80, 1050, 180, 1130))
    mean = ImageStat.Stat(patch).mean
    assert all(abs(channel - 119) < 2 for channel in mean)


def test_before_and_after_removal_the_skin_is_bare() -> None:
    assert _drawn(PhotoMoment.BEFORE) == _drawn(PhotoMoment.BEFORE, wound=None)
    assert _drawn(PhotoMoment.REMOVED) == _drawn(PhotoMoment.REMOVED, wound=None)
