"""The process beside the server that keeps the orders in line with the cover.

It is a process and not a thread of this one, because the server forks its workers from this process, and what
a thread holds at that moment would stay held in the worker for ever.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

WAIT = 5.0
"""Seconds before it is started again if it ends by itself, and that it has to end at the end."""


@contextmanager
def watching() -> Iterator[None]:
    """Have the orders watched for as long as this lasts."""
    stop = threading.Event()
    running: list[subprocess.Popen[bytes]] = [_start()]

    def keep_running() -> None:
        while not stop.is_set():
            running[0].wait()
            if not stop.wait(WAIT):
                running[0] = _start()

    keeper = threading.Thread(target=keep_running, daemon=True)
    keeper.start()
    try:
        yield
    finally:
        stop.set()
        running[0].terminate()
        keeper.join(WAIT)
        if running[0].poll() is None:
            running[0].kill()


def _start() -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "django", "watch_cover", "--beside", str(os.getpid())]
    return subprocess.Popen(command, stdin=subprocess.DEVNULL)
