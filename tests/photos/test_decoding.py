"""The process that decodes pictures is bounded, and one that dies of a picture is followed by another."""

from __future__ import annotations

import os
import resource
import signal
import threading
import time
from pathlib import Path

import pytest
from PIL import Image

from continuity.photos.decoder import MEMORY, NICE
from continuity.photos.decoding import Decoder
from continuity.photos.pictures import UnreadablePhoto, make_full, make_renditions
from tests.photos.pictures import FORMATS, drawing, encoded, jpeg, with_everything

LARGE = (6000, 4000)


def _large_png() -> bytes:
    """Half a second's work, and more, for a decoder."""
    return encoded(Image.new("RGB", LARGE, (120, 90, 80)), "PNG")


@pytest.mark.parametrize("media_type", FORMATS)
def test_it_makes_what_is_made_without_it(media_type: str) -> None:
    raw = with_everything(drawing(900, 700), media_type, 6)
    with Decoder() as decoder:
        assert decoder.renditions(raw, media_type) == make_renditions(raw, media_type)
        assert decoder.full(raw, media_type) == make_full(raw, media_type)


def test_one_process_decodes_many() -> None:
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        first = decoder.process_id
        decoder.full(jpeg(), "image/jpeg")
        assert decoder.process_id == first


def test_what_it_cannot_read_is_said() -> None:
    with Decoder() as decoder:
        with pytest.raises(UnreadablePhoto, match="not a picture of the kind image/jpeg"):
            decoder.renditions(b"just a text", "image/jpeg")
        assert decoder.renditions(jpeg(64, 48), "image/jpeg").width == 64


def test_a_picture_that_takes_too_long() -> None:
    with Decoder(seconds=0.4) as decoder, pytest.raises(UnreadablePhoto, match="takes longer"):
        decoder.full(_large_png(), "image/png")
    with Decoder() as decoder:
        assert decoder.renditions(jpeg(64, 48), "image/jpeg").width == 64


def test_a_picture_that_takes_too_much_memory() -> None:
    raw = _large_png()
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        assert decoder.process_id is not None
        # As much as it has now, and a little: the bound itself is that of the test below.
        now = int(Path(f"/proc/{decoder.process_id}/statm").read_text().split()[0]) * resource.getpagesize()
        resource.prlimit(decoder.process_id, resource.RLIMIT_AS, (now + 20_000_000, now + 20_000_000))
        with pytest.raises(UnreadablePhoto, match="more memory"):
            decoder.renditions(raw, "image/png")
        # The one after it has a process of its own, with the usual bound.
        assert decoder.renditions(raw, "image/png").width == LARGE[0]


def test_the_bounds_it_sets_itself() -> None:
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        assert decoder.process_id is not None
        assert resource.prlimit(decoder.process_id, resource.RLIMIT_AS) == (MEMORY, MEMORY)
        assert resource.prlimit(decoder.process_id, resource.RLIMIT_FSIZE) == (0, 0)
        assert resource.prlimit(decoder.process_id, resource.RLIMIT_CPU)[0] < 100
        assert os.getpriority(os.PRIO_PROCESS, decoder.process_id) == NICE


def test_none_of_the_servers_secrets_are_in_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "a-secret-of-the-server")
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        environment = Path(f"/proc/{decoder.process_id}/environ").read_bytes()
    assert b"a-secret-of-the-server" not in environment


def test_a_decoder_that_is_killed_by_what_it_decodes() -> None:
    """As the system does to a process when its memory is gone."""
    raw = _large_png()
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        process_id = decoder.process_id
        assert process_id is not None
        killer = threading.Timer(0.1, os.kill, (process_id, signal.SIGKILL))
        killer.start()
        with pytest.raises(UnreadablePhoto, match="died of it"):
            decoder.full(raw, "image/png")
        killer.join()
        assert decoder.renditions(jpeg(64, 48), "image/jpeg").width == 64
        assert decoder.process_id != process_id


def test_nothing_is_left_of_it() -> None:
    with Decoder() as decoder:
        decoder.renditions(jpeg(), "image/jpeg")
        process_id = decoder.process_id
    assert not Path(f"/proc/{process_id}").exists()


def test_it_ends_by_itself_when_whoever_started_it_is_gone() -> None:
    decoder = Decoder()
    decoder.renditions(jpeg(), "image/jpeg")
    process = decoder._process
    assert process is not None
    assert process.stdin is not None
    # What the system does to the pipe of a process that is killed.
    process.stdin.close()
    until = time.monotonic() + 20
    while process.poll() is None and time.monotonic() < until:
        time.sleep(0.05)
    assert process.poll() == 0
    assert process.stdout is not None
    process.stdout.close()
