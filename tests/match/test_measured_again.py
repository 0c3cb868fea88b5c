"""A measurement that fails for a reason that may pass comes by itself, and holds up no other meanwhile."""

from __future__ import annotations

import datetime
import io
import itertools
import signal
import time
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from django.db.models import F
from PIL import Image

from continuity.match.models import ColourMeasurement
from tests.builders import Json, Show, make_show, photo, photos, sha256_of
from tests.match.scenes import as_jpeg
from tests.match.test_measuring import look, make_up, measured, measurement
from tests.photos.pictures import heic
from tests.photos.worker import prepare_photos, worker_process

AGAIN = "It is tried again by itself."


class Asked:
    """A measurement of two photos that have come and been prepared."""

    def __init__(
        self, show: Show, then: bytes, now: bytes, media_types: tuple[str, str] = ("image/jpeg", "image/jpeg")
    ) -> None:
        self.show = show
        self.photos = (then, now)
        sheets = [
            show.application(photos=photos(photo(raw, media_types[at]))) for at, raw in enumerate(self.photos)
        ]
        show.set_artist.send_ok(*sheets)
        for raw in self.photos:
            show.set_artist.send_file(raw)
        prepare_photos()
        places = [measured(sheet["record"], raw) for sheet, raw in zip(sheets, self.photos, strict=True)]
        self.entry = show.set_artist.entry("colour_measurement", measurement(show, places[0], places[1]))
        show.set_artist.send_ok(self.entry)

    @property
    def told(self) -> Json:
        colour: Json = self.show.continuity.record(self.entry["record"])["derived"]["colour"]
        return colour

    @property
    def row(self) -> ColourMeasurement:
        return ColourMeasurement.objects.get(id=self.entry["record"])

    def once_more(self) -> None:
        """By hand, as the app has it."""
        revision = self.show.continuity.record(self.entry["record"])["revision"]
        patch = {"asked_again_at": "2026-11-26T09:00:00+00:00"}
        entry = self.show.continuity.entry("colour_measurement", patch, self.entry["record"], revision)
        self.show.continuity.send_ok(entry)


@pytest.fixture
def asked(show: Show) -> Asked:
    return Asked(
        show, make_up((0.28, 0.15, 0.11), (1, 0.9, 0.7), 1), make_up((0.28, 0.15, 0.11), (1, 1, 1), 2)
    )


def original(raw: bytes) -> Path:
    (path,) = Path(settings.MEDIA_ROOT).rglob(f"{sha256_of(raw)}/original.*")
    return path


def lose_copies() -> None:
    """What was made of photos in full, from which is measured where the original is lost."""
    for rendition in Path(settings.MEDIA_ROOT).rglob("full.*"):
        rendition.unlink()


def pass_time(**by: float) -> None:
    """As if so long had passed, for all measurements that are waiting."""
    gone = datetime.timedelta(**by)
    ColourMeasurement.objects.exclude(next_at=None).update(next_at=F("next_at") - gone)
    ColourMeasurement.objects.exclude(failing_since=None).update(failing_since=F("failing_since") - gone)


@pytest.mark.parametrize("how", ["gone", "does not answer"])
def test_a_storage_that_is_away_and_comes_back(asked: Asked, how: str) -> None:
    path = original(asked.photos[1])
    aside = path.rename(Path(settings.MEDIA_ROOT) / "aside")
    lose_copies()
    if how == "does not answer":
        # A folder in its place: an error as a storage has them, and not that there is no such file.
        path.mkdir()
    assert look() == 1
    assert asked.told["state"] == "cannot_be_measured"
    assert asked.told["reasons"][0].startswith("Today's photo cannot be read: ")
    assert how in asked.told["reasons"][0]
    assert asked.told["reasons"][1] == AGAIN
    assert asked.told["may_pass"]
    cursor = asked.show.continuity.cursor()
    for _ in range(5):
        assert look() == 0
        pass_time(minutes=31)
    assert asked.show.continuity.changes(after=cursor) == [], "it is said once"
    if how == "does not answer":
        path.rmdir()
    aside.rename(path)
    assert look() == 1
    assert asked.told["state"] == "measured"
    assert look() == 0
    assert (asked.row.beginnings, asked.row.failing_since, asked.row.next_at) == (0, None, None)


def test_it_is_not_tried_more_often_than_makes_sense(asked: Asked) -> None:
    """After a minute at first, and after half an hour in the end."""
    original(asked.photos[1]).unlink()
    lose_copies()
    look()
    tries = []
    seen, minutes = asked.row.next_at, 0
    while minutes < 24 * 60:
        pass_time(minutes=1)
        minutes += 1
        before = asked.row.next_at
        look()
        if asked.row.next_at != before:
            tries.append(minutes)
    assert seen is not None
    assert tries[0] <= 2
    assert 45 <= len(tries) <= 60
    assert max(after - before for before, after in itertools.pairwise(tries)) <= 32
    assert asked.row.beginnings == 0


def test_after_a_week_it_is_given_up_and_by_hand_it_is_tried_again(asked: Asked) -> None:
    path = original(asked.photos[0])
    aside = path.rename(Path(settings.MEDIA_ROOT) / "aside")
    lose_copies()
    look()
    pass_time(days=8)
    assert look() == 1
    assert len(asked.told["reasons"]) == 1
    assert asked.told["may_pass"], "by hand"
    assert asked.told["reasons"][0].startswith("The established photo cannot be read: ")
    aside.rename(path)
    pass_time(days=8)
    assert look() == 0
    asked.once_more()
    assert asked.told["state"] == "awaiting"
    assert look() == 1
    assert asked.told["state"] == "measured"


def test_a_photo_that_failed_and_is_tried_again_by_hand_is_measured_then(show: Show) -> None:
    """The storage was away while it was prepared."""
    then, now = (make_up((0.28, 0.15, 0.11), (1, 1, 1), seed) for seed in (1, 2))
    sheets = [
        show.application(show.copies[at], photos=photos(photo(raw))) for at, raw in enumerate((then, now))
    ]
    show.set_artist.send_ok(*sheets)
    for raw in (then, now):
        show.set_artist.send_file(raw)
    aside = original(now).rename(Path(settings.MEDIA_ROOT) / "aside")
    prepare_photos()
    made = show.set_artist.make(
        "colour_measurement",
        measurement(show, measured(sheets[0]["record"], then), measured(sheets[1]["record"], now)),
    )
    assert look() == 1
    assert "gone from the server" in show.continuity.record(made)["derived"]["colour"]["reasons"][0]
    aside.rename(next(Path(settings.MEDIA_ROOT).rglob(sha256_of(now))) / "original.jpg")
    retry = show.set_artist.path(f"files/{sha256_of(now)}/retry")
    assert show.set_artist.account.post(retry, {}).status == 200
    prepare_photos()
    pass_time(minutes=2)
    assert look() == 1
    assert show.continuity.record(made)["derived"]["colour"]["state"] == "measured"


def test_one_over_which_the_process_ends_holds_up_no_other(asked: Asked) -> None:
    """Three beginnings without an end, as killed processes leave them."""
    other = Asked(asked.show, *asked.photos)
    asked.once_more()
    for _ in range(3):
        ColourMeasurement.objects.filter(id=asked.row.id).update(beginnings=F("beginnings") + 1)
    assert look() == 2
    assert asked.told["reasons"] == ["The server stopped each time it began to measure it."]
    assert asked.told["may_pass"]
    assert other.told["state"] == "measured"
    pass_time(days=1)
    assert look() == 0
    asked.once_more()
    assert look() == 1
    assert asked.told["state"] == "measured"


@pytest.mark.django_db(transaction=True)
def test_a_process_that_is_killed_in_the_middle() -> None:
    show = make_show()
    rough = np.random.default_rng(5).random((3000, 4000, 3))
    large = Asked(show, as_jpeg(rough), as_jpeg(rough[::-1]))
    small = Asked(show, make_up((0.3, 0.2, 0.1), (1, 1, 1), 1), make_up((0.3, 0.2, 0.1), (1, 1, 1), 2))
    worker = worker_process("measure_colour")
    try:
        until = time.monotonic() + 60
        while large.row.beginnings == 0:
            assert worker.poll() is None, worker.communicate()
            assert time.monotonic() < until
            time.sleep(0.01)
    finally:
        worker.send_signal(signal.SIGKILL)
        worker.communicate()
    assert (large.told["state"], large.row.state) == ("awaiting", "awaiting")
    # Another process goes on with the others at once, and later with this one.
    assert look() == 1
    assert (large.told["state"], small.told["state"]) == ("awaiting", "measured")
    pass_time(minutes=4)
    assert look() == 1
    assert large.told["state"] != "awaiting"
    assert large.row.beginnings == 0


@pytest.mark.parametrize("media_type", ["image/jpeg", "image/heic"])
def test_where_the_original_is_lost_a_copy_is_measured_and_it_is_said(show: Show, media_type: str) -> None:
    then, now = (make_up((0.28, 0.15, 0.11), (1, 1, 1), seed) for seed in (1, 2))
    if media_type == "image/heic":
        now = heic(Image.open(io.BytesIO(now)))
    asked = Asked(show, then, now, ("image/jpeg", media_type))
    original(now).unlink()
    assert look() == 1
    assert asked.told["state"] == "measured"
    assert asked.told["cautions"] == [
        "Today's photo: the file that the phone sent is gone, and a copy was measured that was made of it."
    ]
    assert max(patch["delta_e"] for patch in asked.told["patches"].values()) < 1


@pytest.mark.parametrize(("transfer", "name"), [(16, "PQ"), (18, "HLG")])
def test_a_picture_for_hdr_screens_is_never_measured(show: Show, transfer: int, name: str) -> None:
    """16 and 18 in ITU-T H.273. Nor is a copy of it, which says nothing of that."""
    then, now = (make_up((0.28, 0.15, 0.11), (1, 1, 1), seed) for seed in (1, 2))
    numbers = {"color_primaries": 9, "matrix_coefficients": 9, "full_range_flag": 1}
    hdr = heic(
        Image.open(io.BytesIO(now)), save_nclx_profile=True, transfer_characteristics=transfer, **numbers
    )
    asked = Asked(show, then, hdr, ("image/jpeg", "image/heic"))
    reason = (
        f"Today's photo: it is coded for HDR screens ({name}), and only ordinary pictures can be measured."
    )
    assert look() == 1
    assert asked.told["state"] == "cannot_be_measured"
    assert reason in asked.told["reasons"]
    assert not asked.told["may_pass"]
    assert asked.told["patches"] == asked.told["now"]["patches"] == {}
    original(hdr).unlink()
    asked.once_more()
    assert look() == 1
    assert asked.told["state"] == "cannot_be_measured"
    assert reason in asked.told["reasons"]


def test_a_phone_s_heic_in_display_p3_is_measured(show: Show) -> None:
    """Numbered 12 in ITU-T H.273, without a profile, with sRGB's curve (13)."""
    then, now = (make_up((0.28, 0.15, 0.11), (1, 1, 1), seed) for seed in (1, 2))
    numbers = {"color_primaries": 12, "matrix_coefficients": 6, "full_range_flag": 1}
    pictures = [Image.open(io.BytesIO(raw)) for raw in (then, now)]
    files = [
        heic(each, quality=100, save_nclx_profile=True, transfer_characteristics=13, **numbers)
        for each in pictures
    ]
    asked = Asked(show, files[0], files[1], ("image/heic", "image/heic"))
    assert look() == 1
    assert asked.told["state"] == "measured"
