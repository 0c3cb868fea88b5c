"""The server as `manage.py up` starts it, with a database and photos of its own."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from continuity.bootstrap.places import MANAGE, ROOT

Json = dict[str, Any]

STARTS_WITHIN = 60
STOPS_WITHIN = 20
ARRIVES_WITHIN = 30


def settings_of(data_dir: Path) -> dict[str, str]:
    """An environment in which nothing of whoever runs the tests is set, but the data lies in `data_dir`."""
    others = {name: value for name, value in os.environ.items() if not name.startswith("CONTINUITY_")}
    others.pop("DATABASE_URL", None)
    return {**others, "CONTINUITY_DATA_DIR": str(data_dir)}


def manage(data_dir: Path, *arguments: str) -> None:
    subprocess.run([sys.executable, str(MANAGE), *arguments], cwd=ROOT, env=settings_of(data_dir), check=True)


@dataclass(frozen=True)
class Served:
    """A running server: `url` is its origin, `data_dir` holds all it keeps."""

    url: str
    data_dir: Path

    def rows(self, question: str, *values: object) -> list[Json]:
        """What a SELECT on the server's database answers; read beside the running server."""
        address = f"file:{self.data_dir / 'continuity.sqlite3'}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=20)) as database:
            database.row_factory = sqlite3.Row
            return [dict(row) for row in database.execute(question, values)]

    def documents(self, kind: str) -> dict[str, Json]:
        """The documents of all records of this kind that are not withdrawn, by id (32 digits)."""
        found = self.rows("SELECT id, document FROM sync_record WHERE kind = ? AND NOT withdrawn", kind)
        return {row["id"]: json.loads(row["document"]) for row in found}

    def entries(self) -> list[Json]:
        """Every entry ever kept, as they came; without the orders, which the server raises by itself."""
        return self.rows("SELECT * FROM sync_entry WHERE kind <> 'order' ORDER BY seq")

    def forget_sessions(self) -> None:
        """Signs everybody out, as when sessions are cleared on the server."""
        with closing(sqlite3.connect(self.data_dir / "continuity.sqlite3", timeout=20)) as database, database:
            database.execute("DELETE FROM django_session")

    def let_leases_run_out(self) -> None:
        """As when the minutes are over that a sender holds a message for, whether or not it lives."""
        with closing(sqlite3.connect(self.data_dir / "continuity.sqlite3", timeout=20)) as database, database:
            database.execute("UPDATE deliveries_outgoing SET leased_until = '2000-01-01 00:00:00'")


def expect_soon(told: Callable[[], object], expected: object) -> None:
    """Asserts that what `told` answers is `expected`, once what is still on its way has arrived."""
    until = time.monotonic() + ARRIVES_WITHIN
    while time.monotonic() < until and told() != expected:
        time.sleep(0.05)
    assert told() == expected


def plain(identifier: str) -> str:
    """An id as the database has it."""
    return identifier.replace("-", "")


@contextmanager
def serve(data_dir: Path) -> Iterator[Served]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-m", "continuity.serving", "--host", "127.0.0.1", "--port", str(port)]
    log = data_dir / "server.log"
    with log.open("wb") as output:
        process = subprocess.Popen(
            command, cwd=ROOT, env=settings_of(data_dir), stdout=output, stderr=subprocess.STDOUT
        )
    try:
        wait_until_it_answers(port, process, log)
        yield Served(f"http://127.0.0.1:{port}", data_dir)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(timeout=STOPS_WITHIN)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            raise


def wait_until_it_answers(port: int, process: subprocess.Popen[bytes], log: Path) -> None:
    """Raises `RuntimeError`, with what it logged, when it does not start."""
    until = time.monotonic() + STARTS_WITHIN
    while time.monotonic() < until and process.poll() is None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=STARTS_WITHIN)
        try:
            connection.request("GET", "/api/session")
            if connection.getresponse().status == 200:
                return
        except OSError:
            time.sleep(0.05)
        finally:
            connection.close()
    raise RuntimeError(f"The server did not start:\n{log.read_text()}")
