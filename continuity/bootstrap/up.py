"""`up`: from a fresh clone to a served application, and quickly there the next time."""

from __future__ import annotations

import argparse
import errno
import os
import socket
from collections.abc import Sequence
from typing import NoReturn

from continuity.bootstrap import environment, frontend
from continuity.bootstrap.console import CannotGoOn
from continuity.bootstrap.places import ROOT, VENV_PYTHON


def port_number(text: str) -> int:
    port = int(text)
    if not 1 <= port <= 65535:
        raise argparse.ArgumentTypeError(f"{port} is not a port: these go from 1 to 65535")
    return port


def parser() -> argparse.ArgumentParser:
    command = argparse.ArgumentParser(
        prog="manage.py up",
        description="Installs, builds and migrates what has changed, then serves the application.",
    )
    command.add_argument("--demo", action="store_true", help="load the demo production if there is none yet")
    command.add_argument("--port", type=port_number, default=8000, help="the port to serve on (8000)")
    command.add_argument(
        "--host", default="127.0.0.1", help="the address to serve on (127.0.0.1: this machine only)"
    )
    return command


def check_free(host: str, port: int) -> None:
    """Raises CannotGoOn with exit code 2 when nothing can be served on this address and port."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except socket.gaierror:
        raise CannotGoOn(f"{host} is not an address of this machine.", 2) from None
    with socket.socket(family, kind, protocol) as probe:
        # Connections of a server that has just stopped linger for a while and are no hindrance.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(address)
        except OSError as error:
            raise CannotGoOn(_why_not(error, host, port), 2) from None


def _why_not(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use by another program. Choose another one, such as --port {port + 1}."
    if error.errno == errno.EACCES:
        return f"Port {port} may not be used without more rights. Choose one above 1023, such as --port 8000."
    return f"{host} is not an address of this machine."


def run(arguments: Sequence[str]) -> NoReturn:
    """Prepares everything and becomes the server. Raises CannotGoOn."""
    options = parser().parse_args(arguments)
    check_free(options.host, options.port)
    environment.ensure()
    frontend.ensure_built()
    serving = ["-m", "continuity.serving", "--host", options.host, "--port", str(options.port)]
    if options.demo:
        serving.append("--demo")
    os.chdir(ROOT)
    os.execv(VENV_PYTHON, [str(VENV_PYTHON), *serving])
