"""The processes beside the server: what is to be done while nobody waits for it.

They are processes and not threads of this one, because the server forks its workers from this process, and
what a thread holds at that moment would stay held in the worker for ever.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

COMMANDS = ("watch_cover", "deliver", "prepare_photos", "measure_colour")
"""The commands of `manage.py` that run beside the server, each a `BesideCommand`, each in its own process."""

WAIT = 5.0
"""Seconds before one is started again if it ends by itself, and that it has to end at the end."""


@contextmanager
def beside() -> Iterator[None]:
    """Have all of `COMMANDS` run for as long as this lasts."""
    stop = threading.Event()
    running = {command: _start(command) for command in COMMANDS}

    def keep_running(command: str) -> None:
        while not stop.is_set():
            running[command].wait()
            if not stop.wait(WAIT):
                running[command] = _start(command)

    keepers = [threading.Thread(target=keep_running, args=(command,), daemon=True) for command in COMMANDS]
    for keeper in keepers:
        keeper.start()
    try:
        yield
    finally:
        stop.set()
        for process in running.values():
            process.terminate()
        # All have the same time to end in, not one after the other.
        until = time.monotonic() + WAIT
        for keeper in keepers:
            keeper.join(max(0.0, until - time.monotonic()))
        for process in running.values():
            if process.poll() is None:
                process.kill()


def _start(command: str) -> subprocess.Popen[bytes]:
    arguments = [sys.executable, "-m", "django", command, "--beside", str(os.getpid())]
    return subprocess.Popen(arguments, stdin=subprocess.DEVNULL)
