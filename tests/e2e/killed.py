"""A server that is killed on the way and started again, and the mail that reaches the shop meanwhile."""

from __future__ import annotations

import email
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any, cast

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from continuity.bootstrap.places import ROOT

from .served import STOPS_WITHIN, Served, settings_of, wait_until_it_answers

HOST = "127.0.0.1"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


class KilledServer:
    """The server of one data directory at one address, whatever becomes of its process."""

    def __init__(self, data_dir: Path, **settings: str) -> None:
        self.port = free_port()
        self.served = Served(f"http://{HOST}:{self.port}", data_dir)
        self._settings = {**settings_of(data_dir), **settings, "CONTINUITY_ADDRESS": self.served.url}
        self._process: subprocess.Popen[bytes] | None = None
        self.kills = 0

    def start(self) -> None:
        command = [sys.executable, "-m", "continuity.serving", "--host", HOST, "--port", str(self.port)]
        log = self.served.data_dir / "server.log"
        with log.open("ab") as output:
            self._process = subprocess.Popen(
                command,
                cwd=ROOT,
                env=self._settings,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        wait_until_it_answers(self.port, self._process, log)

    def kill(self) -> None:
        """SIGKILL to the server and to all that runs beside it, as when the power goes."""
        assert self._process is not None
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._process = None
        self.kills += 1

    def start_again(self) -> None:
        """Once nobody answers at its address any more."""
        until = time.monotonic() + STOPS_WITHIN
        while self._somebody_listens():
            assert time.monotonic() < until, "a worker of the killed server lives on"
            time.sleep(0.1)
        self.start()

    def stop(self) -> None:
        if self._process is None:
            return
        self._process.send_signal(signal.SIGINT)
        try:
            self._process.wait(timeout=STOPS_WITHIN)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _somebody_listens(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex((HOST, self.port)) == 0


@contextmanager
def killable(demo_data: Path, data_dir: Path, **settings: str) -> Iterator[KilledServer]:
    """One that runs with a copy of the demo's data in `data_dir`."""
    shutil.copytree(demo_data, data_dir)
    server = KilledServer(data_dir, **settings)
    server.start()
    yield server
    server.stop()


class Mailbox:
    """A mail server on this machine. `on_mail` is a word and what is called, once, while a message with that
    word in its subject is handed over: when it was taken and the sender has not been told so yet."""

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        self.on_mail: tuple[str, Callable[[], object]] | None = None
        self._lock = threading.Lock()
        self._controller = Controller(self, hostname=HOST, port=free_port())
        self.settings = {
            "CONTINUITY_MAIL_HOST": HOST,
            "CONTINUITY_MAIL_PORT": str(self._controller.port),
            "CONTINUITY_MAIL_TLS": "none",
            "CONTINUITY_MAIL_SENDER": "orders@quillan.example",
        }

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        raw = cast(bytes, envelope.original_content)
        message = email.message_from_bytes(raw, policy=default)
        with self._lock:
            self.messages.append(message)
            then = self.on_mail if self.on_mail and self.on_mail[0] in message["Subject"] else None
            if then:
                self.on_mail = None
        if then:
            then[1]()
        return "250 OK"

    def start(self) -> None:
        self._controller.start()

    def stop(self) -> None:
        self._controller.stop()

    def by_id(self) -> dict[str, list[EmailMessage]]:
        """The messages that came, by their Message-ID: several with one id are doubles of one another."""
        found: dict[str, list[EmailMessage]] = {}
        with self._lock:
            for message in self.messages:
                found.setdefault(str(message["Message-ID"]), []).append(message)
        return found


def wait_for(told: Callable[[], Any], what: str, seconds: float = 60) -> Any:
    """What `told` answers, once that is something."""
    until = time.monotonic() + seconds
    while not (found := told()):
        assert time.monotonic() < until, f"{what} did not happen"
        time.sleep(0.1)
    return found
