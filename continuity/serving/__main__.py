"""`python -m continuity.serving`: migrates, sees to it that somebody can sign in, and serves."""

from __future__ import annotations

import argparse
import os
import socket
import sys

from continuity.serving.beside import watching
from continuity.serving.server import server

THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")
EVERY_ADDRESS = {"0.0.0.0", "::"}  # noqa: S104 - to compare with, not to bind to


def allowed_hosts(host: str) -> list[str]:
    """The names and addresses that this machine is asked for when it serves on the address `host`."""
    hosts = [*THIS_MACHINE]
    if host in EVERY_ADDRESS:
        name = socket.gethostname()
        hosts += [name, f"{name}.local", *own_addresses()]
    else:
        hosts.append(f"[{host}]" if ":" in host else host)
    return list(dict.fromkeys(hosts))


def own_addresses() -> list[str]:
    """The IPv4 address by which this machine reaches its network, if it has one."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Connecting a datagram socket sends nothing: it only asks which way such an address would go.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return []
        return [str(probe.getsockname()[0])]


def address_to_open(host: str, port: int) -> str:
    shown = (own_addresses() or ["127.0.0.1"])[0] if host in EVERY_ADDRESS else host
    return f"http://{f'[{shown}]' if ':' in shown else shown}:{port}/"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m continuity.serving")
    parser.add_argument("--host", required=True)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--demo", action="store_true")
    options = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "continuity.settings")
    os.environ.setdefault("CONTINUITY_ALLOWED_HOSTS", ",".join(allowed_hosts(options.host)))

    import django
    from django.core.management import call_command
    from django.db import connections

    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    call_command("collectstatic", verbosity=0, interactive=False)

    from continuity.serving.first_start import who_can_sign_in

    lines = who_can_sign_in(demo=options.demo)
    # The workers are forked from this process, and no connection may be shared with them.
    connections.close_all()
    lines = ["", f"Open {address_to_open(options.host, options.port)}", *lines, "Ctrl-C stops it."]
    print("\n".join(lines), flush=True)
    with watching():
        server(options.host, options.port).serve()


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)
