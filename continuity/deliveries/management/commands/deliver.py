"""`python3 manage.py deliver`: sends what is to be told of orders while the server runs."""

from __future__ import annotations

import threading

from continuity.deliveries.sender import deliver_once
from continuity.serving.beside_command import BesideCommand


class Command(BesideCommand):
    help = "Send orders to the outside by mail, webhook and push message, until stopped."

    def look(self, stop: threading.Event) -> int:
        return deliver_once(stop)

    def told(self, done: int) -> str:
        return f"Messages tried: {done}"
