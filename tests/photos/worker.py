"""The worker, as `up` runs it beside the server, for the length of one look."""

from __future__ import annotations

import threading

from continuity.photos.preparing import prepare_all


def prepare_photos() -> int:
    """Have everything made that is to be made. Returns how many files something was made of, or failed."""
    return prepare_all(threading.Event())
