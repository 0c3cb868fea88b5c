"""The server as `up --lan` starts it, with certificates and a database of its own."""

from __future__ import annotations

import contextlib
import http.client
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from continuity.bootstrap.places import ROOT

PATIENCE = 60
"""Seconds: it only bounds how long a test that fails keeps looking."""

Headers = dict[str, str]


@dataclass
class Served:
    """The running server, asked by way of 127.0.0.1, which it serves too."""

    process: subprocess.Popen[str]
    port: int
    page_port: int
    printed: str = ""

    def plain(self, method: str, path: str) -> tuple[int, str, bytes]:
        """The status, type and content of the answer over plain HTTP."""
        connection = http.client.HTTPConnection("127.0.0.1", self.page_port, timeout=PATIENCE)
        with contextlib.closing(connection):
            connection.request(method, path)
            answer = connection.getresponse()
            return answer.status, answer.headers["Content-Type"], answer.read()

    def secure(
        self, trusted: ssl.SSLContext, method: str, path: str, body: str = "", headers: Headers | None = None
    ) -> tuple[int, http.client.HTTPMessage, bytes]:
        connection = http.client.HTTPSConnection("127.0.0.1", self.port, timeout=PATIENCE, context=trusted)
        with contextlib.closing(connection):
            connection.request(method, path, body or None, headers or {})
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()

    def authority(self) -> bytes:
        return self.plain("GET", "/authority.crt")[2]

    def trusting(self) -> ssl.SSLContext:
        """What a phone is that has installed the certificate from the plain page."""
        return ssl.create_default_context(cadata=self.authority())

    def fingerprint(self) -> str:
        """The one that was printed."""
        found = re.search(r"^ *((?:[0-9A-F]{2}:){31}[0-9A-F]{2})$", self.printed, re.MULTILINE)
        assert found is not None, self.printed
        return found[1]


def free_ports() -> tuple[int, int]:
    with socket.socket() as one, socket.socket() as other:
        one.bind(("127.0.0.1", 0))
        other.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1]), int(other.getsockname()[1])


@contextmanager
def serving(data: Path, address: str = "127.0.0.1") -> Iterator[Served]:
    """`address` is the one that phones shall open; 127.0.0.1 is a private address like any other here."""
    port, page_port = free_ports()
    left_out = {"DATABASE_URL", "CONTINUITY_ALLOWED_HOSTS", "CONTINUITY_TRUSTED_ORIGINS"}
    env = {name: value for name, value in os.environ.items() if name not in left_out}
    options = ["--address", address, "--port", str(port), "--authority-port", str(page_port)]
    process = subprocess.Popen(
        [sys.executable, "-m", "continuity.serving", *options],
        cwd=ROOT,
        env={**env, "CONTINUITY_DATA_DIR": str(data)},
        stdout=subprocess.PIPE,
        text=True,
    )
    served = Served(process, port, page_port)
    try:
        assert process.stdout is not None
        for line in process.stdout:
            served.printed += line
            if "Ctrl-C" in line:
                break
        _wait_until_open(served)
        yield served
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)


def _wait_until_open(served: Served) -> None:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until and served.process.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", served.port)).close()
        except ConnectionRefusedError:
            time.sleep(0.05)
        else:
            return
    raise RuntimeError(f"The server did not start: {served.printed}")
