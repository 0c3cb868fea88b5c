"""`python3 manage.py watch_cover`: keeps the orders in line with the cover while the server runs."""

from __future__ import annotations

import gc
import threading
from typing import Any

from continuity.cover.watch import look_once
from continuity.serving.beside_command import BesideCommand


class Command(BesideCommand):
    # A phone waits for its answer; nobody waits for an order.
    nice = 5
    help = "Keep the orders for the shop in line with the cover, until stopped."

    def handle(self, *args: Any, **options: Any) -> None:
        # What the program itself consists of stays as long as it runs. Without this the collector of garbage
        # goes through all of it every now and then, which takes longer than most covers.
        gc.freeze()
        super().handle(*args, **options)

    def look(self, stop: threading.Event) -> int:
        return look_once()

    def told(self, done: int) -> str:
        return f"Orders written: {done}"
