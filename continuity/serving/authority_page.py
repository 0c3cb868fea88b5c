"""The page over plain HTTP from which a phone takes the authority's certificate, and nothing else.

A phone that does not trust the authority yet is warned off from everything this server says over HTTPS. The
page is served by a process of its own, which holds neither a key nor the database, so that nothing that is
sent to it can reach the tracker, and many slow readers keep nobody from their work.
"""

from __future__ import annotations

import base64
import html
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import IO, cast

from continuity.bootstrap.console import CannotGoOn

SLOWEST_REQUEST_SECONDS = 10
PARENT_LOOKED_FOR_EVERY_SECONDS = 1
CERTIFICATE_PATH = "/authority.crt"

PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Trust this server</title>
<style>
:root {{ color-scheme: light dark; font: 1.05rem/1.5 system-ui, sans-serif; }}
body {{ max-width: 34rem; margin: 1rem auto; padding: 0 1rem; }}
code {{ overflow-wrap: anywhere; }}
li {{ margin-bottom: .5rem; }}
.get {{ display: inline-block; padding: .75rem 1rem; border: 2px solid; border-radius: .5rem; }}
</style>
<h1>Trust this server</h1>
<p>A phone keeps the continuity tracker for work without a network only if it trusts the server. Do this once
on each phone.</p>
<p><a class="get" href="{path}">Get the authority's certificate</a></p>
<p>Its SHA-256 fingerprint:<br><code>{fingerprint}</code></p>
<p>Anyone on this Wi-Fi could have changed this page. Compare what <strong>the phone itself</strong> shows
for the certificate, as said below, with what stands on <strong>the screen of the computer that
serves</strong>. If they differ in any place, do not install it, or remove it.</p>
<h2>iPhone and iPad</h2>
<ol>
<li>Open this page in the phone's own browser, tap the button above, and allow the download.</li>
<li>Settings, General, VPN &amp; Device Management: tap the downloaded profile, then More Details and the
certificate. Compare the SHA-256 fingerprint. Go back and tap Install.</li>
<li>Settings, General, About, Certificate Trust Settings: switch on “{name}”.</li>
</ol>
<h2>Android</h2>
<ol>
<li>Tap the button above. The file is saved.</li>
<li>In Settings, search for “CA certificate”, choose Install anyway, and pick the saved file.</li>
<li>In Settings, search for “Trusted credentials”, then User: tap “{name}” and compare the SHA-256
fingerprint.</li>
</ol>
<p>The names in Settings differ a little from one version to the next.</p>
<h2>Then open the tracker</h2>
<ul>{links}</ul>
<p>Sign in and add it to the home screen. The authority can vouch only for addresses on private networks and
for local names, not for any site on the internet. When the production is over, remove it in the same place in
Settings.</p>
</html>
"""


def page(name: str, fingerprint: str, urls: list[str]) -> str:
    """The page about the authority called `name`, with links to the `urls` of the application."""
    links = "".join(f'<li><a href="{html.escape(url)}">{html.escape(url)}</a></li>' for url in urls)
    return PAGE.format(
        path=CERTIFICATE_PATH, name=html.escape(name), fingerprint=html.escape(fingerprint), links=links
    )


class Handler(BaseHTTPRequestHandler):
    """Answers GET and HEAD for two paths from memory."""

    timeout = SLOWEST_REQUEST_SECONDS
    answers: dict[str, tuple[str, bytes]]
    """By path: the content's type and the content."""

    def do_GET(self) -> None:
        self._answer(with_content=True)

    def do_HEAD(self) -> None:
        self._answer(with_content=False)

    def _answer(self, *, with_content: bool) -> None:
        found = self.answers.get(self.path)
        if found is None:
            self.send_error(404)
            return
        kind, content = found
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        if with_content:
            self.wfile.write(content)

    def version_string(self) -> str:
        return "continuity"

    def log_message(self, format: str, *arguments: object) -> None:  # noqa: A002 - the base class's name
        """Nothing: the terminal belongs to the person who started the server."""


@contextmanager
def served(host: str, port: int, text: str, certificate: bytes) -> Iterator[None]:
    """Serves the page `text` and the DER `certificate` on this address and port until the end of the block.

    Raises CannotGoOn when the port cannot be had.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listening = socket.create_server((host, port), family=family, dualstack_ipv6=":" in host)
    except OSError as error:
        why = f"The authority's page cannot be served on port {port}: {error.strerror}."
        raise CannotGoOn(why, 2) from None
    with listening:
        process = subprocess.Popen(
            [sys.executable, "-m", __name__, str(listening.fileno()), str(os.getpid())],
            stdin=subprocess.PIPE,
            pass_fds=[listening.fileno()],
        )
    with process:
        try:
            with cast("IO[bytes]", process.stdin) as answers:
                content = {"page": text, "certificate": base64.b64encode(certificate).decode()}
                answers.write(json.dumps(content).encode())
            yield
        finally:
            process.terminate()


def main() -> None:
    # Ctrl-C reaches it too, and its parent ends it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    listening, parent = (int(argument) for argument in sys.argv[1:])
    content = json.load(sys.stdin)
    Handler.answers = {
        "/": ("text/html; charset=utf-8", content["page"].encode()),
        CERTIFICATE_PATH: ("application/x-x509-ca-cert", base64.b64decode(content["certificate"])),
    }
    server = ThreadingHTTPServer(("", 0), Handler, bind_and_activate=False)
    server.socket.close()
    server.socket = socket.socket(fileno=listening)
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    # Were the parent killed, nobody would be left to end this process.
    while os.getppid() == parent:
        time.sleep(PARENT_LOOKED_FOR_EVERY_SECONDS)


if __name__ == "__main__":
    main()
