"""The server's real front door, with a small application behind it that tells what has reached it."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from continuity.bootstrap.places import ROOT

LARGEST = 2_000_000
APPLICATION = f"""
import json, threading
from continuity.serving.whole_requests import WholeRequests

reached = []
released = threading.Event()

def count(environ, start_response):
    reached.append(environ["PATH_INFO"])
    if environ["PATH_INFO"] == "/held":
        released.wait(20)
    if environ["PATH_INFO"] == "/release":
        released.set()
    body = environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"]))
    answer = dict(path=environ["PATH_INFO"], length=len(body), reached=reached,
                  thread=threading.current_thread().name)
    content = json.dumps(answer).encode()
    start_response("200 OK", [("Content-Length", str(len(content)))])
    return [content]

application = WholeRequests(count, threads=1, largest_body={LARGEST})
"""
SERVE = """
import sys
from continuity.serving import server
server.TARGET, server.WORKERS = "sample:application", 1
server.server("127.0.0.1", int(sys.argv[1])).serve()
"""


@dataclass(frozen=True)
class Running:
    process: subprocess.Popen[bytes]
    port: int

    def stop(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=20)


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    (tmp_path / "sample.py").write_text(APPLICATION)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    env = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{tmp_path}"}
    process = subprocess.Popen([sys.executable, "-c", SERVE, str(port)], cwd=tmp_path, env=env)
    try:
        wait_until_open(port, process)
        yield Running(process, port)
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=20)


@pytest.fixture
def port(running: Running) -> int:
    return running.port


def wait_until_open(port: int, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 20
    while time.monotonic() < until and process.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port)).close()
        except ConnectionRefusedError:
            time.sleep(0.02)
        else:
            return
    pytest.fail("The server did not start.")


def ask(port: int, path: str, body: bytes = b"") -> tuple[int, dict[str, object]]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        connection.request("POST", path, body)
        response = connection.getresponse()
        return response.status, json.loads(response.read())
    finally:
        connection.close()


def begin(port: int, path: str, announced: int, sent: bytes) -> socket.socket:
    """A request that has announced more than it has sent so far."""
    upload = socket.create_connection(("127.0.0.1", port), timeout=20)
    upload.sendall(f"POST {path} HTTP/1.1\r\nHost: x\r\nContent-Length: {announced}\r\n\r\n".encode() + sent)
    return upload


def test_many_slow_uploads_keep_nobody_waiting(port: int) -> None:
    uploads = [begin(port, f"/photo/{number}", 100, b"x" * 50) for number in range(20)]
    time.sleep(0.2)
    status, answer = ask(port, "/cover")
    assert status == 200
    assert answer["reached"] == ["/cover"]

    for upload in uploads:
        upload.sendall(b"x" * 50)
    for upload in uploads:
        assert b'"length": 100' in upload.recv(10_000)
        upload.close()
    assert len(ask(port, "/today")[1]["reached"]) == 22  # type: ignore[arg-type]


def test_a_large_body_arrives_unchanged_in_length(port: int) -> None:
    status, answer = ask(port, "/photo", b"x" * LARGEST)
    assert (status, answer["length"]) == (200, LARGEST)


def test_a_body_sent_in_pieces_without_a_length_is_read_whole(port: int) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request("POST", "/import", iter([b"first", b"second"]), encode_chunked=True)
    assert json.loads(connection.getresponse().read())["length"] == len(b"firstsecond")
    connection.close()


def test_too_large_a_body_is_refused_and_does_not_reach_the_application(port: int) -> None:
    with begin(port, "/photo", LARGEST + 1, b"x") as upload:
        answer = upload.recv(10_000)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert b'"code": "too_large"' in answer
    assert ask(port, "/cover")[1]["reached"] == ["/cover"]


def test_too_large_a_body_without_a_length_is_refused_too(port: int) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    # The server may have hung up before all was sent.
    with contextlib.suppress(BrokenPipeError, ConnectionResetError):
        connection.request("POST", "/import", iter([b"x" * 500_000] * 5), encode_chunked=True)
    connection.close()
    assert ask(port, "/cover")[1]["reached"] == ["/cover"]


def test_a_body_that_is_cut_off_does_not_reach_the_application(port: int) -> None:
    upload = begin(port, "/entry", 100, b'{"copies": 1')
    upload.shutdown(socket.SHUT_WR)
    assert b'"code": "body_cut_off"' in upload.recv(10_000)
    upload.close()
    begin(port, "/entry", 100, b'{"copies": 1').close()
    time.sleep(0.2)
    assert ask(port, "/cover")[1]["reached"] == ["/cover"]


def test_the_application_runs_in_its_own_few_threads(port: int) -> None:
    assert {str(ask(port, "/cover")[1]["thread"]) for _ in range(10)} == {"application_0"}


def test_the_server_stops_though_an_upload_hangs(running: Running) -> None:
    with begin(running.port, "/photo", 100, b"x"):
        time.sleep(0.2)
        assert ask(running.port, "/cover")[0] == 200
        assert running.stop() == 0
    with pytest.raises(ConnectionRefusedError):
        ask(running.port, "/cover")


def test_whoever_logs_does_not_wait_behind_a_burst_of_photos(port: int) -> None:
    """Eight uploads that are being worked on, and the one thread for everything else is free."""
    uploads = []
    for _ in range(8):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.request("PUT", "/held", b"a photo")
        uploads.append(connection)
    time.sleep(0.2)
    other = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    other.request("POST", "/release", b"a record")
    assert json.loads(other.getresponse().read())["path"] == "/release"
    for connection in uploads:
        assert json.loads(connection.getresponse().read())["path"] == "/held"
        connection.close()
    other.close()
