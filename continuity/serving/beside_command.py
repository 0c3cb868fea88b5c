"""What the commands that run beside the server have in common: they go on until told to stop, or until the
server is gone. `up` runs them; another set-up runs each as a service of its own, and several at once do no
harm."""

from __future__ import annotations

import logging
import os
import signal
import threading
from abc import abstractmethod
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections

from continuity.serving.orphans import when_orphaned

logger = logging.getLogger(__name__)


class BesideCommand(BaseCommand):
    """A command that looks every few seconds for something to do."""

    # They load every view: a second of each start, for what the server beside it has loaded anyway.
    requires_system_checks = []

    seconds = 3.0
    """Between two looks."""

    nice = 0
    """How far it steps back for the server while it runs beside it, as of `os.nice`."""

    @abstractmethod
    def look(self, stop: threading.Event) -> int:
        """Do what there is to do, and return how much it was. A long look ends early when `stop` is set."""

    @abstractmethod
    def told(self, done: int) -> str:
        """What `--once` prints."""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="look once and end")
        parser.add_argument(
            "--beside", type=int, metavar="PID", help="end when the parent process with this id has ended"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        stop = threading.Event()
        if options["once"]:
            self.stdout.write(self.told(self.look(stop)))
            return
        os.nice(self.nice)
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: stop.set())
        if options["beside"] is not None:
            when_orphaned(options["beside"], stop.set)
        while not stop.wait(self.seconds):
            close_old_connections()
            try:
                self.look(stop)
            except Exception:
                # The database was away: it may be back at the next look.
                logger.exception("%s could not look.", type(self).__module__.rpartition(".")[2])
