"""How the server is set up. The benchmark starts it the same way."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from granian.server.common import AbstractServer

TARGET = "continuity.serving.application:application"

WORKERS = 2
BODY_THREADS = 64
"""Requests whose bodies can be arriving at the same time, per worker. An idle thread ends by itself."""

APPLICATION_THREADS = 16
"""Per worker. Pushes that wait in these threads for the same production are committed together."""

LARGEST_BODY = 300_000_000
"""Bytes: all that a phone has not sent, in one file. Other requests are bounded more tightly elsewhere."""


def server(host: str, port: int, certificate: Path | None = None) -> AbstractServer[Any]:
    """A server of the application, ready for `serve()`, which returns after Ctrl-C or SIGTERM.

    `certificate` is a file with a certificate and its private key: with it, HTTPS is served.
    """
    from granian.constants import HTTPModes, Interfaces
    from granian.log import LogLevels
    from granian.server import Server

    return Server(
        TARGET,
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        http=HTTPModes.http1,
        ssl_cert=certificate,
        ssl_key=certificate,
        websockets=False,
        workers=min(WORKERS, os.cpu_count() or 1),
        blocking_threads=BODY_THREADS,
        # A worker that dies is replaced; at the end, an upload that hangs is not waited for.
        respawn_failed_workers=True,
        workers_kill_timeout=3,
        log_level=LogLevels.error,
    )
