"""An installation of its own for one measurement: an empty data directory, migrated, served, then removed."""

from __future__ import annotations

import contextlib
import os
import secrets
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

USERNAME = "bench"
WAIT = 60.0
"""Seconds a command, or the server's first answer, may take."""


class CannotMeasure(Exception):
    """Something that is measured did not work; the message says what."""


@dataclass(frozen=True)
class Installation:
    """Its data directory, and the password of its one account, `USERNAME`, who may make productions."""

    data_dir: Path
    password: str

    @property
    def environment(self) -> dict[str, str]:
        """Neither the settings nor the database of whoever measures: SQLite, as it is by default."""
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith("CONTINUITY_") and name != "DATABASE_URL"
        }
        return {**kept, "CONTINUITY_DATA_DIR": str(self.data_dir)}

    def run(self, *arguments: str, **environment: str) -> str:
        """Run Python with these arguments; its output. Raises `CannotMeasure` when that fails."""
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=settings.ROOT,
            env={**self.environment, **environment},
            capture_output=True,
            text=True,
            check=False,
            timeout=WAIT,
        )
        if done.returncode != 0:
            raise CannotMeasure(f"{' '.join(arguments)}: {done.stderr.strip()[-2000:]}")
        return done.stdout

    @contextlib.contextmanager
    def served(self) -> Iterator[int]:
        """The server, started as it is in earnest. Yields its port on the loopback address."""
        port = _free_port()
        serving = ["-m", "continuity.serving", "--host", "127.0.0.1", "--port", str(port)]
        with subprocess.Popen(
            [sys.executable, *serving],
            cwd=settings.ROOT,
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        ) as server:
            try:
                _wait_for(port, server)
                yield port
            finally:
                server.send_signal(signal.SIGINT)
                try:
                    server.communicate(timeout=10)
                except subprocess.TimeoutExpired:
                    server.kill()


@contextlib.contextmanager
def installation() -> Iterator[Installation]:
    """A new installation, on the disk where the data of this one lies."""
    with tempfile.TemporaryDirectory(prefix="bench-", dir=settings.DATA_DIR) as directory:
        made = Installation(Path(directory), secrets.token_urlsafe(12))
        made.run("manage.py", "migrate", "--verbosity", "0")
        made.run(
            "manage.py",
            *("createsuperuser", "--noinput", "--username", USERNAME, "--email", ""),
            DJANGO_SUPERUSER_PASSWORD=made.password,
        )
        yield made


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait_for(port: int, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + WAIT
    while time.monotonic() < until and server.poll() is None:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.05)
    raise CannotMeasure("The server did not start.")
