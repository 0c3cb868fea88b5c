"""`python3 manage.py measure_colour`: measures the colours that phones have asked for."""

from __future__ import annotations

import threading

from continuity.match.measuring import measure_all
from continuity.photos.decoder import NICE
from continuity.serving.beside_command import BesideCommand


class Command(BesideCommand):
    help = "Measure the colours of photos that have come, until stopped."
    seconds = 2.0
    nice = NICE

    def look(self, stop: threading.Event) -> int:
        return measure_all(stop)

    def told(self, done: int) -> str:
        return f"Measured: {done}"
