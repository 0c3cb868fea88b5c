"""Having a picture decoded in a process of its own, which may die of it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from continuity.photos.pictures import Renditions, UnreadablePhoto

SECONDS = 60.0
"""The most a picture may take on the clock, beside a server that comes first. Most take less than one."""

ROOT = Path(__file__).resolve().parents[2]


class DecoderDied(UnreadablePhoto):
    """The process has ended over it, or somebody has ended the process: nothing tells which."""


class Decoder:
    """One process for many pictures, started with the first, and anew after one that it died of.

        with Decoder() as decoder:
            made = decoder.renditions(raw, "image/jpeg")

    All methods raise `UnreadablePhoto` for what is not a picture, or takes too much memory or time, and
    `DecoderDied` when the process has ended meanwhile.
    ``seconds`` bounds the time for one.
    """

    def __init__(self, seconds: float = SECONDS) -> None:
        self._seconds = seconds
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, sort: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    @property
    def process_id(self) -> int | None:
        """Of the process there is now, if there is one."""
        return self._process.pid if self._process else None

    def renditions(self, raw: bytes, media_type: str) -> Renditions:
        """See `pictures.make_renditions`."""
        answer, (large, small) = self._ask(raw, media_type, "renditions")
        return Renditions(large, small, answer["width"], answer["height"], answer["not_measurable"])

    def full(self, raw: bytes, media_type: str) -> bytes:
        """See `pictures.make_full`."""
        return self._ask(raw, media_type, "full")[1][0]

    def _ask(self, raw: bytes, media_type: str, make: str) -> tuple[dict[str, Any], list[bytes]]:
        process = self._process = self._process or _started()
        out_of_time = threading.Event()

        def end() -> None:
            out_of_time.set()
            process.kill()

        clock = threading.Timer(self._seconds, end)
        clock.start()
        try:
            found = _exchange(process, {"media_type": media_type, "make": make}, raw)
        finally:
            clock.cancel()
        if found is None:
            self._end()
            if out_of_time.is_set():
                raise UnreadablePhoto(f"Decoding it takes longer than {self._seconds:g} seconds.")
            raise DecoderDied("The decoder died of it.")
        answer, parts = found
        if "unreadable" in answer:
            # A decoder that has met what it could not read is not kept to read others.
            self._end()
            raise UnreadablePhoto(answer["unreadable"])
        return answer, parts

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.communicate()


def _started() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "continuity.photos.decoder"],
        cwd=ROOT,
        # None of the server's secrets; and memory is reserved once, not once for every thread.
        env={"PATH": os.environ.get("PATH", ""), "MALLOC_ARENA_MAX": "1"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        # Ctrl-C in a terminal goes to all processes of the group, and no picture is to be blamed for it.
        start_new_session=True,
    )


def _exchange(
    process: subprocess.Popen[bytes], request: dict[str, Any], raw: bytes
) -> tuple[dict[str, Any], list[bytes]] | None:
    """The answer and its parts, or None when the process has ended before it had given them."""
    if process.stdin is None or process.stdout is None:
        return None
    try:
        process.stdin.write(json.dumps({**request, "length": len(raw)}).encode() + b"\n")
        process.stdin.write(raw)
        process.stdin.flush()
        line = process.stdout.readline()
        if not line.endswith(b"\n"):
            return None
        answer: dict[str, Any] = json.loads(line)
        parts = [process.stdout.read(length) for length in answer["lengths"]]
    except BrokenPipeError:
        return None
    return (answer, parts) if [len(part) for part in parts] == answer["lengths"] else None
