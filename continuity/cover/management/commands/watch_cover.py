"""`python3 manage.py watch_cover`: keeps the orders in line with the cover while the server runs."""

from __future__ import annotations

import threading

from continuity.cover.watch import look_once
from continuity.serving.beside_command import BesideCommand


class Command(BesideCommand):
    # A phone waits for its answer; nobody waits for an order.
    nice = 5
    help = "Keep the orders for the shop in line with the cover, until stopped."

    def look(self, stop: threading.Event) -> int:
        return look_once()

    def told(self, done: int) -> str:
        return f"Orders written: {done}"
