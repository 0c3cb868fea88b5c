"""A process whose server was killed: nobody is left to tell it to end."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable

SECONDS = 1.0
"""Between two looks at who the parent is."""


def when_orphaned(parent: int, then: Callable[[], object]) -> None:
    """Call ``then``, in a thread of its own, once the parent of this process is no longer ``parent``."""

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(SECONDS)
        then()

    threading.Thread(target=watch, daemon=True).start()
