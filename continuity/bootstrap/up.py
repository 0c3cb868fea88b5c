"""`up`: from a fresh clone to a served application, and quickly there the next time."""

from __future__ import annotations

import argparse
import errno
import os
import socket
from collections.abc import Sequence
from typing import NoReturn

from continuity.bootstrap import addresses, environment, frontend
from continuity.bootstrap.console import CannotGoOn
from continuity.bootstrap.places import ROOT, VENV_PYTHON

HOST, PORT = "127.0.0.1", 8000
LAN_PORT, AUTHORITY_PORT = 8443, 8080


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
    command.add_argument(
        "--port", type=port_number, help=f"the port to serve on ({PORT}; {LAN_PORT} with --lan)"
    )
    command.add_argument("--host", help=f"the address to serve on ({HOST}: this machine only)")
    phones = command.add_argument_group("for phones on the same network")
    phones.add_argument("--lan", action="store_true", help="serve HTTPS, with an authority of its own")
    phones.add_argument(
        "--address",
        action="append",
        default=[],
        metavar="IP|NAME",
        help="an address or name by which phones open it (all private ones found); can be repeated",
    )
    phones.add_argument(
        "--authority-port",
        type=port_number,
        default=AUTHORITY_PORT,
        metavar="PORT",
        help=f"the port of the plain page where phones get the authority's certificate ({AUTHORITY_PORT})",
    )
    return command


def check_free(host: str, port: int, option: str = "--port") -> None:
    """Raises CannotGoOn with exit code 2 when nothing can be served on this address and port.

    `option` is the one by which the user can choose another port.
    """
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
            raise CannotGoOn(_why_not(error, host, port, option), 2) from None


def _why_not(error: OSError, host: str, port: int, option: str) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use by another program. Choose another one, such as {option} {port + 1}."
    if error.errno == errno.EACCES:
        return (
            f"Port {port} may not be used without more rights. Choose one above 1023, such as {option} 8000."
        )
    return f"{host} is not an address of this machine."


def run(arguments: Sequence[str]) -> NoReturn:
    """Prepares everything and becomes the server. Raises CannotGoOn."""
    options = parser().parse_args(arguments)
    serving = _for_phones(options) if options.lan else _for_a_browser(options)
    if options.demo:
        serving.append("--demo")
    environment.ensure()
    frontend.ensure_built()
    os.chdir(ROOT)
    os.execv(VENV_PYTHON, [str(VENV_PYTHON), "-m", "continuity.serving", *serving])


def _for_a_browser(options: argparse.Namespace) -> list[str]:
    if options.address:
        raise CannotGoOn("--address goes with --lan only.", 2)
    host, port = options.host or HOST, options.port or PORT
    check_free(host, port)
    return ["--host", host, "--port", str(port)]


def _for_phones(options: argparse.Namespace) -> list[str]:
    if options.host:
        raise CannotGoOn("--lan serves on every address of this machine, so it cannot go with --host.", 2)
    port, authority_port = options.port or LAN_PORT, options.authority_port
    if port == authority_port:
        raise CannotGoOn(f"--port and --authority-port cannot both be {port}.", 2)
    phones = addresses.for_phones(options.address)
    host = addresses.to_serve_on(phones)
    check_free(host, port)
    check_free(host, authority_port, "--authority-port")
    serving = ["--port", str(port), "--authority-port", str(authority_port)]
    return [*serving, *(f"--address={phone}" for phone in phones)]
