"""`python3 manage.py watch_cover`: keeps the orders in line with the cover while the server runs.

`up` runs it beside its server. Another set-up runs it as a service of its own; several at once do no harm.
"""

from __future__ import annotations

import os
import signal
import threading
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from continuity.cover.watch import SECONDS, look_once, watch


class Command(BaseCommand):
    help = "Keep the orders for the shop in line with the cover, until stopped."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="look once and end")
        parser.add_argument(
            "--beside", type=int, metavar="PID", help="end when the parent process with this id has ended"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["once"]:
            self.stdout.write(f"Orders written: {look_once()}")
            return
        stop = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: stop.set())
        parent = options["beside"]
        if parent is not None:
            threading.Thread(target=_end_with, args=(parent, stop), daemon=True).start()
        watch(stop)


def _end_with(parent: int, stop: threading.Event) -> None:
    """A server that is killed cannot say so: whose parent is another process is an orphan."""
    while not stop.wait(SECONDS):
        if os.getppid() != parent:
            stop.set()
