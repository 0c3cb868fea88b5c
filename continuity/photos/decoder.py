"""`python -m continuity.photos.decoder`: the process in which strangers' pictures are decoded.

It has no database, no storage and no secrets: it reads one request after the other from its input, a line of
JSON and the picture's bytes, and writes the same back. Memory and processor time are bounded by the system;
whoever started it (`decoding`) bounds the time on the clock, and starts another when this one is gone.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import sys
from typing import Any, BinaryIO

from continuity.photos.pictures import UnreadablePhoto, make_full, make_renditions

MEMORY = 1_500_000_000
"""Bytes of address space. A JPEG of 12 million pixels takes 130 million; the hungriest, a WebP of 50 million
pixels in full, nearly all."""

PROCESSOR_SECONDS = 45
"""For one picture. It ends a decoder whose parent is gone as well."""

NICE = 10
"""A tenth of the processor beside a server that wants all of it, and all of it beside one that wants none."""


def main() -> None:
    for number in (signal.SIGINT, signal.SIGTERM):
        # It ends when its input does: whoever stops everything at once stops the worker, which lets it end.
        signal.signal(number, signal.SIG_IGN)
    os.nice(NICE)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    if sys.platform == "linux":
        # macOS knows this bound and does not keep it.
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    source, target = sys.stdin.buffer, sys.stdout.buffer
    while line := source.readline():
        used = resource.getrusage(resource.RUSAGE_SELF)
        bound = int(used.ru_utime + used.ru_stime) + PROCESSOR_SECONDS
        resource.setrlimit(resource.RLIMIT_CPU, (bound, resource.RLIM_INFINITY))
        _answer(json.loads(line), source, target)


def _answer(request: dict[str, Any], source: BinaryIO, target: BinaryIO) -> None:
    raw = source.read(request["length"])
    parts: list[bytes] = []
    answer: dict[str, Any] = {}
    try:
        if request["make"] == "full":
            parts = [make_full(raw, request["media_type"])]
        else:
            made = make_renditions(raw, request["media_type"])
            parts = [made.large, made.small]
            answer = {
                "width": made.width,
                "height": made.height,
                "not_measurable": made.not_measurable,
            }
    except UnreadablePhoto as unreadable:
        answer = {"unreadable": str(unreadable)}
    except MemoryError:
        parts.clear()
        answer = {"unreadable": "Decoding it needs more memory than it may have."}
    answer["lengths"] = [len(part) for part in parts]
    target.write(json.dumps(answer).encode() + b"\n")
    for part in parts:
        target.write(part)
    target.flush()


if __name__ == "__main__":
    main()
