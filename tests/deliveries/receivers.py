"""Real receivers on loopback that can be told to fail: a mail server and an HTTP receiver."""

from __future__ import annotations

import asyncio
import email
import email.policy
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email.message import EmailMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

HOST = "127.0.0.1"


@dataclass
class Received:
    """One request, its header names in small letters."""

    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class HttpReceiver:
    """Answers with ``behaviour``: a status, "hang" until let go, or "drop" the connection. ``once`` are used
    up first. What came is in ``received``, whatever was answered; ``taken`` is what was answered with 2xx."""

    behaviour: int | str = 204
    once: list[int | str] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)
    received: list[Received] = field(default_factory=list)
    taken: list[Received] = field(default_factory=list)
    came: threading.Event = field(default_factory=threading.Event)
    let_go: threading.Event = field(default_factory=threading.Event)
    url: str = ""

    def answer(self, handler: BaseHTTPRequestHandler) -> None:
        body = handler.rfile.read(int(handler.headers.get("Content-Length", 0)))
        named = {name.lower(): value for name, value in handler.headers.items()}
        request = Received(handler.path, named, body)
        self.received.append(request)
        self.came.set()
        behaviour = self.once.pop(0) if self.once else self.behaviour
        if behaviour == "hang":
            self.let_go.wait(30)
            return
        if behaviour == "drop":
            handler.connection.close()
            return
        status = int(behaviour)
        if 200 <= status < 300:
            self.taken.append(request)
        handler.send_response(status)
        for name, value in self.headers.items():
            handler.send_header(name, value)
        handler.send_header("Content-Length", "0")
        handler.end_headers()


@contextmanager
def http_receiver(port: int = 0) -> Iterator[HttpReceiver]:
    receiver = HttpReceiver()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            receiver.answer(self)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer((HOST, port), Handler)
    server.daemon_threads = True
    server.handle_error = lambda *_: None  # type: ignore[method-assign]
    receiver.url = f"http://{HOST}:{server.server_port}/orders"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        receiver.let_go.set()
        server.shutdown()
        server.server_close()


class MailReceiver:
    """A mail server that takes mail, or answers with ``refusal`` after the message has come, or says nothing
    for ``hang`` seconds. It can be stopped and started again on the same port."""

    def __init__(self) -> None:
        self.taken: list[EmailMessage] = []
        self.refusal: str | None = None
        self.hang = 0.0
        self.port = 0
        self._controller: Controller | None = None

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        if self.hang:
            await asyncio.sleep(self.hang)
        if self.refusal:
            return self.refusal
        assert isinstance(envelope.content, bytes)
        message = email.message_from_bytes(envelope.content, policy=email.policy.SMTP)
        assert isinstance(message, EmailMessage)
        assert [message["To"]] == envelope.rcpt_tos
        self.taken.append(message)
        return "250 OK"

    def start(self) -> None:
        if self.port == 0:
            with ThreadingHTTPServer((HOST, 0), BaseHTTPRequestHandler) as free:
                self.port = free.server_port
        self._controller = Controller(self, hostname=HOST, port=self.port)
        self._controller.start()

    def stop(self) -> None:
        if self._controller is not None:
            self._controller.stop()
            self._controller = None


@contextmanager
def mail_receiver() -> Iterator[MailReceiver]:
    receiver = MailReceiver()
    receiver.start()
    try:
        yield receiver
    finally:
        receiver.stop()
