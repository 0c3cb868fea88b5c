"""Servers that start while the test before is still going on, and end while the next one is."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from .served import Served, serve


@dataclass(frozen=True)
class _Ready:
    demo: Path
    served: Served
    until_stopped: ExitStack


class ServersAhead:
    """Each has a copy of the demo's data, as `demo` names it at the time, in a new `folder`."""

    def __init__(self, demo: Callable[[], Path], folder: Callable[[], Path]) -> None:
        self._demo, self._folder = demo, folder
        self._pool = ThreadPoolExecutor()
        self._next = self._pool.submit(self._start)
        self._ending: list[Future[None]] = []

    def _start(self) -> _Ready:
        demo, data_dir = self._demo(), self._folder() / "served"
        shutil.copytree(demo, data_dir)
        until_stopped = ExitStack()
        return _Ready(demo, until_stopped.enter_context(serve(data_dir)), until_stopped)

    def _stop(self, ready: _Ready) -> None:
        self._ending.append(self._pool.submit(ready.until_stopped.close))

    @contextmanager
    def server(self) -> Iterator[Served]:
        ready = self._next.result()
        if ready.demo != self._demo():  # of the day before
            self._stop(ready)
            ready = self._start()
        self._next = self._pool.submit(self._start)
        yield ready.served
        self._stop(ready)

    def close(self) -> None:
        """Waits until all have ended. Raises `subprocess.TimeoutExpired` for one that did not by itself."""
        self._stop(self._next.result())
        for ending in self._ending:
            ending.result()
        self._pool.shutdown()
