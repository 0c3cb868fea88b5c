"""The processes beside the server: what is to be done while nobody waits for it.

They are processes and not threads of this one, because the server forks its workers from this process, and
what a thread holds at that moment would stay held in the worker for ever.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

COMMANDS = ("watch_cover", "deliver", "prepare_photos", "measure_colour")
"""The commands of `manage.py` that run beside the server, each a `BesideCommand`, each in its own process."""

WAIT = 5.0
"""Seconds before one is started again if it ends by itself, and that it has to end at the end."""


@contextmanager
def beside() -> Iterator[None]:
    """Have all of `COMMANDS` run for as long as this lasts."""
    with ExitStack() as until_the_end:
        for command in COMMANDS:
            until_the_end.enter_context(_kept_running(command))
        yield


@contextmanager
def _kept_running(command: str) -> Iterator[None]:
    stop = threading.Event()
    running: list[subprocess.Popen[bytes]] = [_start(command)]

    def keep_running() -> None:
        while not stop.is_set():
            running[0].wait()
            if not stop.wait(WAIT):
                running[0] = _start(command)

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


def _start(command: str) -> subprocess.Popen[bytes]:
    arguments = [sys.executable, "-m", "django", command, "--beside", str(os.getpid())]
    return subprocess.Popen(arguments, stdin=subprocess.DEVNULL)
