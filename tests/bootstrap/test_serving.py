"""The start and the stop of the real server on a data directory of its own."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from continuity.bootstrap.addresses import own_addresses
from continuity.bootstrap.places import ROOT
from continuity.serving.__main__ import address_to_open, allowed_hosts


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def status_of(port: int, path: str, host: str) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        connection.request("GET", path, headers={"Host": host})
        return connection.getresponse().status
    finally:
        connection.close()


def wait_for_answer(process: subprocess.Popen[str], port: int) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until and process.poll() is None:
        try:
            status_of(port, "/api/session", "127.0.0.1")
        except ConnectionError:
            time.sleep(0.05)
        else:
            return
    process.kill()
    pytest.fail(f"The server did not start: {process.communicate()}")


def start_and_stop(data: Path, stop_with: signal.Signals) -> tuple[int, str, dict[str, int]]:
    """The exit code, what was printed, and the answers to a few questions asked in between."""
    port = free_port()
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    process = subprocess.Popen(
        [sys.executable, "-m", "continuity.serving", "--host", "127.0.0.1", "--port", str(port)],
        cwd=ROOT,
        env={**env, "CONTINUITY_DATA_DIR": str(data)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    wait_for_answer(process, port)
    answers = {
        "session": status_of(port, "/api/session", f"localhost:{port}"),
        "admin": status_of(port, "/admin/login/", f"localhost:{port}"),
        "admin's style": status_of(port, "/static/admin/css/base.css", f"localhost:{port}"),
        "another name": status_of(port, "/api/session", "another.example"),
    }
    process.send_signal(stop_with)
    printed, _ = process.communicate(timeout=30)
    assert f"Open http://127.0.0.1:{port}/\n" in printed
    return process.returncode, printed, answers


def test_the_first_start_makes_an_account_and_later_ones_do_not(tmp_path: Path) -> None:
    code, printed, answers = start_and_stop(tmp_path, signal.SIGINT)
    assert code == 0
    assert answers == {"session": 200, "admin": 200, "admin's style": 200, "another name": 400}
    assert re.search(r"Sign in as head, password \S{16} ", printed)
    assert (tmp_path / "secret-key").stat().st_mode & 0o777 == 0o600

    code, printed, answers = start_and_stop(tmp_path, signal.SIGTERM)
    assert code == 0
    assert answers["session"] == 200
    assert "Sign in as" not in printed
    assert "changepassword" in printed


def test_the_address_to_open_is_one_that_a_browser_can_open() -> None:
    assert address_to_open("127.0.0.1", 8000) == "http://127.0.0.1:8000/"
    assert address_to_open("::1", 8000) == "http://[::1]:8000/"
    everywhere = address_to_open("0.0.0.0", 8000)
    assert everywhere in {f"http://{address}:8000/" for address in [*own_addresses(), "127.0.0.1"]}


def test_the_server_answers_to_the_address_it_serves_on() -> None:
    assert "192.168.1.20" in allowed_hosts("192.168.1.20")
    assert "[fd00::20]" in allowed_hosts("fd00::20")
    assert {str(address) for address in own_addresses()} <= set(allowed_hosts("0.0.0.0"))
    assert "192.168.1.20" not in allowed_hosts("127.0.0.1")
