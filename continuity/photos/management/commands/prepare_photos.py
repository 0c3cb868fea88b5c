"""`python3 manage.py prepare_photos`: makes the renditions of the photos that have come."""

from __future__ import annotations

import threading

from continuity.photos.decoder import NICE
from continuity.photos.preparing import prepare_all
from continuity.serving.beside_command import BesideCommand


class Command(BesideCommand):
    help = "Make the renditions of photos that have come, until stopped."
    seconds = 1.0
    nice = NICE

    def look(self, stop: threading.Event) -> int:
        return prepare_all(stop)

    def told(self, done: int) -> str:
        return f"Photos prepared: {done}"
