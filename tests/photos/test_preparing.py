"""The worker: each photo once, whatever happens to it or to the worker, and nothing lost."""

from __future__ import annotations

import datetime
import os
import signal
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.utils import timezone
from PIL import Image

from continuity.photos.decoding import Decoder
from continuity.photos.models import PhotoFile
from continuity.photos.preparing import prepare_all
from continuity.photos.services import open_original
from tests.at_once import at_once
from tests.builders import Show, make_show, photo, photos, sha256_of
from tests.photos.pictures import drawing, encoded, jpeg, noisy_jpeg
from tests.photos.worker import prepare_photos, worker_process

Json = dict[str, Any]


def _sent(show: Show, *files: bytes) -> Json:
    """A sheet whose photos have all come."""
    entry = show.application(show.copies[0], photos=photos(*(photo(raw) for raw in files)))
    show.set_artist.send_ok(entry)
    for raw in files:
        assert show.set_artist.send_file(raw).body["state"] == "stored"
    return entry


def _shown(show: Show, raw: bytes, rendition: str = "small") -> int:
    return show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/{rendition}")).status


def _retry(show: Show, raw: bytes) -> Any:
    return show.set_artist.account.post(show.set_artist.path(f"files/{sha256_of(raw)}/retry"), {})


def _original(raw: bytes) -> Path:
    (path,) = Path(settings.MEDIA_ROOT).rglob(f"{sha256_of(raw)}/original.*")
    return path


def test_what_people_wait_for_comes_first(show: Show) -> None:
    """The small and the large of every photo, before the full of any."""
    files = [jpeg(seed=seed) for seed in range(3)]
    _sent(show, *files)
    prepare_photos()
    times = {
        name: [path.stat().st_mtime_ns for path in Path(settings.MEDIA_ROOT).rglob(name)]
        for name in ("small.webp", "large.webp", "full.jpg")
    }
    assert [len(each) for each in times.values()] == [3, 3, 3]
    assert max(times["small.webp"] + times["large.webp"]) <= min(times["full.jpg"])


def test_nothing_is_decoded_in_the_request_that_takes_the_photo(show: Show) -> None:
    raw = jpeg()
    _sent(show, raw)
    file = PhotoFile.objects.get()
    assert (file.state, file.renditions, file.width) == ("stored", "to_be_made", None)
    assert _original(raw).read_bytes() == open_original(file.production_id, file.sha256).content == raw


@pytest.mark.parametrize("where", ["the pieces", "the original"])
def test_a_disk_that_does_not_take_it(show: Show, where: str) -> None:
    """The phone keeps the photo and sends it again. A folder in the file's place stands for a disk that is
    full: an error of the system when it is written."""
    raw = jpeg()
    sha256 = sha256_of(raw)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(photo(raw))))
    media = Path(settings.MEDIA_ROOT)
    places = {
        "the pieces": media / "partial" / show.production / f"{sha256}.part",
        "the original": media / "photos" / show.production / sha256[:2] / sha256 / "original.jpg",
    }
    places[where].mkdir(parents=True)
    answer = show.set_artist.send_file(raw)
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (503, "server_busy", True)
    status = show.set_artist.file_status(sha256).body
    assert (status["state"], status["received"]) == ("awaited", 0)
    places[where].rmdir()
    assert show.set_artist.send_file(raw).body["state"] == "stored"
    assert _original(raw).read_bytes() == raw


def test_the_original_has_no_address(show: Show) -> None:
    raw = jpeg()
    _sent(show, raw)
    prepare_photos()
    assert _shown(show, raw, "original") == 404


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_prepare_each_photo_once() -> None:
    show = make_show()
    files = [jpeg(600, 400, seed=seed) for seed in range(12)]
    _sent(show, *files)
    first, second = at_once(prepare_photos, prepare_photos)
    # Each file twice: its small and large, and its full.
    assert first + second == 2 * len(files)
    assert set(PhotoFile.objects.values_list("renditions", "full", "attempts")) == {("made", "made", 0)}
    assert {_shown(show, raw, size) for raw in files for size in ("small", "large", "full")} == {200}


@pytest.mark.django_db(transaction=True)
def test_a_worker_that_is_killed_half_way() -> None:
    show = make_show()
    files = [noisy_jpeg(500_000) for _ in range(4)]
    entry = _sent(show, *files)
    worker = worker_process("prepare_photos")
    try:
        until = time.monotonic() + 60
        while not PhotoFile.objects.filter(renditions="made").exists():
            assert worker.poll() is None, worker.communicate()
            assert time.monotonic() < until
            time.sleep(0.01)
        while not PhotoFile.objects.exclude(claimed_until=None).exists():
            assert time.monotonic() < until
    finally:
        worker.send_signal(signal.SIGKILL)
        worker.communicate()
    claimed = PhotoFile.objects.exclude(claimed_until=None)
    assert claimed.count() == 1
    for raw in files:
        assert _original(raw).read_bytes() == raw
    # Another worker goes on with the others at once; the claim is for as long as one could have been at it.
    prepare_photos()
    assert claimed.count() == 1
    claimed.update(claimed_until=timezone.now() - datetime.timedelta(seconds=1))
    prepare_photos()
    assert {_shown(show, raw, size) for raw in files for size in ("small", "large", "full")} == {200}
    assert set(show.head.record(entry["record"])["derived"]["files"].values()) == {"stored"}


@pytest.mark.django_db(transaction=True)
def test_a_worker_that_is_told_to_stop_ends_its_picture_first() -> None:
    show = make_show()
    files = [noisy_jpeg(500_000) for _ in range(4)]
    _sent(show, *files)
    worker = worker_process("prepare_photos")
    until = time.monotonic() + 60
    while not PhotoFile.objects.filter(renditions="made").exists() and time.monotonic() < until:
        time.sleep(0.01)
    worker.send_signal(signal.SIGTERM)
    printed, _ = worker.communicate(timeout=30)
    assert (worker.returncode, printed) == (0, b"")
    assert not PhotoFile.objects.exclude(claimed_until=None).exists()


def test_a_photo_that_kills_its_worker_each_time_is_given_up(show: Show) -> None:
    """Three beginnings without an end, as killed workers leave them."""
    bad, good = jpeg(seed=1), jpeg(seed=2)
    entry = _sent(show, bad, good)
    PhotoFile.objects.filter(sha256=sha256_of(bad)).update(
        attempts=3, claimed_until=timezone.now() - datetime.timedelta(seconds=1)
    )
    prepare_photos()
    assert show.head.record(entry["record"])["derived"]["files"] == {
        sha256_of(bad): "unreadable",
        sha256_of(good): "stored",
    }
    assert (_shown(show, bad), _shown(show, good)) == (404, 200)
    # By hand it is tried as often again.
    assert _retry(show, bad).body["renditions"] == "to_be_made"
    prepare_photos()
    assert _shown(show, bad) == 200


@pytest.mark.parametrize(("deaths", "shown"), [(1, 200), (3, 404)])
def test_a_photo_over_which_the_decoder_dies(show: Show, deaths: int, shown: int) -> None:
    """Once may be somebody else's doing. One over which it dies each time fails, and holds up no other."""
    large = encoded(Image.new("RGB", (6000, 4000), (120, 90, 80)), "PNG")
    entry = show.application(show.copies[0], photos=photos(photo(large, "image/png"), photo(jpeg())))
    show.set_artist.send_ok(entry)
    for raw in (large, jpeg()):
        show.set_artist.send_file(raw)
    decoder = Decoder()

    def kill() -> None:
        killed: set[int] = set()
        until = time.monotonic() + 60
        while len(killed) < deaths and time.monotonic() < until:
            process_id = decoder.process_id
            if process_id is None or process_id in killed:
                time.sleep(0.01)
                continue
            killed.add(process_id)
            os.kill(process_id, signal.SIGKILL)

    killer = threading.Thread(target=kill)
    killer.start()
    prepare_all(threading.Event(), decoder)
    killer.join()
    assert (_shown(show, large), _shown(show, jpeg())) == (shown, 200)
    assert _shown(show, jpeg(), "full") == 200
    reasons = {"" if shown == 200 else "The decoder died of it.", ""}
    assert set(PhotoFile.objects.values_list("reason", flat=True)) == reasons


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_server_that_is_stopped_blames_no_photo(number: signal.Signals) -> None:
    """Ctrl-C, and whoever stops a service, tell every process of it at once."""
    show = make_show()
    files = [noisy_jpeg(500_000) for _ in range(4)]
    _sent(show, *files)
    worker = worker_process("prepare_photos")
    until = time.monotonic() + 60
    while not PhotoFile.objects.filter(renditions="made").exists() and time.monotonic() < until:
        time.sleep(0.01)
    children = Path(f"/proc/{worker.pid}/task/{worker.pid}/children").read_text().split()
    for process_id in (*children, str(worker.pid)):
        os.kill(int(process_id), number)
    worker.communicate(timeout=60)
    assert worker.returncode == 0
    assert "failed" not in PhotoFile.objects.values_list("renditions", flat=True)
    prepare_photos()
    assert {_shown(show, raw) for raw in files} == {200}


def test_a_photo_that_failed_is_tried_again_by_hand(show: Show) -> None:
    raw = jpeg()
    entry = _sent(show, raw)
    _original(raw).rename(aside := Path(settings.MEDIA_ROOT) / "aside")
    prepare_photos()
    status = show.set_artist.file_status(sha256_of(raw)).body
    assert (status["state"], status["renditions"]) == ("stored", "failed")
    assert "gone from the server" in status["reason"]
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "unreadable"}
    # Somebody finds it, and puts it back.
    aside.rename(next(Path(settings.MEDIA_ROOT).rglob(sha256_of(raw))) / "original.jpg")
    cursor = show.head.cursor()
    answer = _retry(show, raw)
    assert (answer.status, answer.body) == (
        200,
        {
            "answer": "file",
            "state": "stored",
            "received": len(raw),
            "renditions": "to_be_made",
            "reason": "",
        },
    )
    assert [change["id"] for change in show.head.changes(after=cursor)] == [entry["record"]]
    prepare_photos()
    assert _shown(show, raw) == 200
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}


RENDITIONS = {"small": "small.webp", "large": "large.webp", "full": "full.jpg"}


@pytest.mark.parametrize("rendition", RENDITIONS)
def test_a_rendition_that_is_lost_is_made_again(show: Show, rendition: str) -> None:
    raw = jpeg(600, 400)
    entry = _sent(show, raw)
    prepare_photos()
    lost = _original(raw).with_name(RENDITIONS[rendition])
    before = lost.read_bytes()
    lost.unlink()
    cursor = show.head.cursor()
    # As of a photo that has just come, and however often it is asked for; nothing is made in the request.
    for _ in range(2):
        answer = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/{rendition}"))
        assert (answer.status, answer.body["code"], answer.body["retryable"]) == (404, "not_ready", True)
    assert not lost.exists()
    prepare_photos()
    assert lost.read_bytes() == before
    assert {_shown(show, raw, each) for each in RENDITIONS} == {200}
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}
    # No phone has been told that anything was wrong.
    assert show.head.changes(after=cursor) == []
    assert prepare_photos() == 0


def test_where_all_is_lost_it_is_said_and_when_it_is_back_it_is_shown(show: Show) -> None:
    raw = jpeg(600, 400)
    entry = _sent(show, raw)
    prepare_photos()
    folder = _original(raw).parent
    aside = Path(settings.MEDIA_ROOT) / "aside"
    folder.rename(aside)
    assert _shown(show, raw) == 404
    prepare_photos()
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "unreadable"}
    status = show.set_artist.file_status(sha256_of(raw)).body
    assert (status["state"], status["renditions"]) == ("stored", "failed")
    answer = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/small"))
    assert (answer.status, answer.body["code"]) == (404, "not_found")
    assert "gone from the server" in answer.body["message"]
    assert prepare_photos() == 0
    assert PhotoFile.objects.count() == 1
    # Somebody finds the folder, or the disk is there again.
    aside.rename(folder)
    answer = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/small"))
    assert (answer.status, answer.body["code"]) == (404, "not_ready")
    prepare_photos()
    assert {_shown(show, raw, each) for each in RENDITIONS} == {200}
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}


def test_where_the_original_is_lost_too_it_is_made_from_every_pixel(show: Show) -> None:
    raw = jpeg(600, 400)
    _sent(show, raw)
    prepare_photos()
    _original(raw).with_name("small.webp").unlink()
    _original(raw).unlink()
    assert _shown(show, raw) == 404
    prepare_photos()
    assert _shown(show, raw) == 200


def test_a_photo_that_fails_again_says_so_again(show: Show) -> None:
    raw = b"just a text"
    entry = _sent(show, raw)
    prepare_photos()
    _retry(show, raw)
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}
    assert prepare_photos() == 1
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "unreadable"}
    assert _original(raw).read_bytes() == raw


def test_there_is_nothing_to_try_again_about_the_others(show: Show) -> None:
    raw = jpeg()
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    show.set_artist.send_ok(entry)
    assert _retry(show, raw).body["state"] == "awaited"
    assert _retry(show, b"never heard of").body["code"] == "not_expected"
    show.set_artist.send_file(raw)
    prepare_photos()
    assert _retry(show, raw).body["renditions"] == "made"
    assert prepare_photos() == 0


def test_a_photo_whose_full_size_cannot_be_written_is_shown_all_the_same(show: Show) -> None:
    """The folder of its name is in the way."""
    raw = jpeg()
    entry = _sent(show, raw)
    in_the_way = _original(raw).with_name("full.jpg")
    in_the_way.mkdir()
    prepare_photos()
    assert (_shown(show, raw, "small"), _shown(show, raw, "large")) == (200, 200)
    assert show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/full")).body["code"] == "not_ready"
    assert show.head.record(entry["record"])["derived"]["files"] == {sha256_of(raw): "stored"}
    in_the_way.rmdir()
    PhotoFile.objects.update(claimed_until=timezone.now() - datetime.timedelta(seconds=1))
    prepare_photos()
    assert _shown(show, raw, "full") == 200


def test_the_command_says_how_many(show: Show, capsys: pytest.CaptureFixture[str]) -> None:
    from django.core.management import call_command

    _sent(show, jpeg(), encoded(drawing(), "JPEG", quality=70))
    call_command("prepare_photos", once=True)
    assert capsys.readouterr().out == "Photos prepared: 4\n"
