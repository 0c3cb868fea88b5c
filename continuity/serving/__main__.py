"""`python -m continuity.serving`: migrates, sees to it that somebody can sign in, and serves."""

from __future__ import annotations

import argparse
import os
import socket
import sys
from contextlib import ExitStack
from pathlib import Path

from continuity.bootstrap import addresses
from continuity.bootstrap.console import CannotGoOn, say
from continuity.serving.beside import beside
from continuity.serving.server import server

LOOPBACK = ("127.0.0.1", "::1")
EVERYWHERE = {addresses.EVERY_IPV4, addresses.EVERY_ADDRESS}


def allowed_hosts(*served: str) -> list[str]:
    """The names and addresses that this machine is asked for when it serves on, or as, those in `served`."""
    hosts = ["localhost", *LOOPBACK]
    for host in served:
        if host in EVERYWHERE:
            hosts += [socket.gethostname(), *addresses.own_names(), *map(str, addresses.own_addresses())]
        else:
            hosts.append(host)
    return list(dict.fromkeys(f"[{host}]" if ":" in host else host for host in hosts))


def address_to_open(host: str, port: int) -> str:
    if host in EVERYWHERE:
        host = str(next(iter(addresses.own_addresses()), LOOPBACK[0]))
    return addresses.url("http", host, port)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m continuity.serving")
    parser.add_argument("--host", help="serve plain HTTP on this address")
    parser.add_argument("--address", action="append", help="serve HTTPS to phones under this address or name")
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--authority-port", type=int)
    parser.add_argument("--demo", action="store_true")
    options = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "continuity.settings")
    served = [*options.address, *addresses.own_names()] if options.address else [options.host]
    os.environ.setdefault("CONTINUITY_ALLOWED_HOSTS", ",".join(allowed_hosts(*served)))
    if options.address:
        os.environ["CONTINUITY_SERVES_TLS"] = "1"
        here = addresses.url("https", options.address[0], options.port)
        os.environ.setdefault("CONTINUITY_ADDRESS", here)

    import django
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections

    django.setup()
    with ExitStack() as until_the_end:
        if options.address:
            from continuity.serving import lan

            host = addresses.to_serve_on(options.address)
            network = lan.prepare(settings.DATA_DIR, options.address, options.port, options.authority_port)
            until_the_end.enter_context(network.page_served(host))
            certificate: Path | None = network.certificates.server
            where = network.lines()
        else:
            host, certificate = options.host, None
            where = [f"Open {address_to_open(host, options.port)}"]
        call_command("migrate", verbosity=0, interactive=False)
        call_command("collectstatic", verbosity=0, interactive=False)

        from continuity.serving.first_start import who_can_sign_in

        who = who_can_sign_in(demo=options.demo)
        # The workers are forked from this process, and no connection may be shared with them.
        connections.close_all()
        print("\n".join(["", *where, *who, "Ctrl-C stops it."]), flush=True)
        with beside():
            server(host, options.port, certificate).serve()


if __name__ == "__main__":
    try:
        main()
    except CannotGoOn as stopped:
        say(str(stopped))
        sys.exit(stopped.exit_code)
    except KeyboardInterrupt:
        sys.exit(130)
