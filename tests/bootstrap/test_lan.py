"""What a phone on the same network meets: the real server over HTTPS, and the plain page beside it."""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from continuity.bootstrap.places import ROOT
from tests.lan_server import Served, free_ports, serving

from .conftest import Run


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("lan")


@pytest.fixture(scope="module")
def served(data: Path) -> Iterator[Served]:
    with serving(data) as running:
        yield running


def test_a_phone_that_trusts_the_authority_signs_in_with_secure_cookies(served: Served) -> None:
    trusting = served.trusting()
    status, headers, content = served.secure(trusting, "GET", "/api/session")
    assert status == 200
    (csrf,) = headers.get_all("Set-Cookie", [])
    assert "Secure" in csrf.split("; ")

    password = re.search(r"Sign in as head, password (\S+) ", served.printed)
    assert password is not None
    sign_in = json.dumps({"username": "head", "password": password[1]})
    # As a browser sends them; the server compares the origin with its own address.
    sent = {
        "Content-Type": "application/json",
        "Cookie": csrf.strip().split(";")[0],
        "X-CSRFToken": json.loads(content)["csrf"],
        "Origin": f"https://127.0.0.1:{served.port}",
    }
    status, _, _ = served.secure(
        trusting, "POST", "/api/session", sign_in, {**sent, "Origin": "https://a.example"}
    )
    assert status == 403
    status, headers, content = served.secure(trusting, "POST", "/api/session", sign_in, sent)
    assert (status, json.loads(content)["signed_in"]) == (200, True)
    cookies = [cookie.strip() for cookie in headers.get_all("Set-Cookie", [])]
    (session,) = [cookie for cookie in cookies if cookie.startswith("sessionid=")]
    assert {"Secure", "HttpOnly"} <= set(session.split("; "))
    # It would bind other ports of the same name too, the plain page's among them.
    assert headers["Strict-Transport-Security"] is None


def test_a_phone_that_does_not_trust_it_refuses(served: Served) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        served.secure(ssl.create_default_context(), "GET", "/api/session")


def test_another_name_is_not_answered_to(served: Served) -> None:
    status, _, _ = served.secure(
        served.trusting(), "GET", "/api/session", headers={"Host": "another.example"}
    )
    assert status == 400


def test_the_application_is_not_served_in_plain(served: Served) -> None:
    with socket.create_connection(("127.0.0.1", served.port), timeout=20) as connection:
        connection.sendall(b"GET /api/session HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert not connection.recv(1000).startswith(b"HTTP")
    for path in ("/api/session", "/admin/login/", "/index.html", "/../../manage.py", "/authority.pem"):
        assert served.plain("GET", path)[0] == 404
    assert served.plain("POST", "/")[0] == 501


def test_the_plain_page_has_the_certificate_its_fingerprint_and_where_to_go(served: Served) -> None:
    status, kind, content = served.plain("GET", "/")
    assert (status, kind) == (200, "text/html; charset=utf-8")
    page = content.decode()
    assert served.fingerprint() in page
    assert f'href="https://127.0.0.1:{served.port}/"' in page
    assert 'href="/authority.crt"' in page
    status, kind, certificate = served.plain("GET", "/authority.crt")
    assert (status, kind) == (200, "application/x-x509-ca-cert")
    assert hashlib.sha256(certificate).hexdigest() == served.fingerprint().replace(":", "").lower()
    assert b"PRIVATE KEY" not in certificate
    assert served.plain("HEAD", "/authority.crt") == (200, kind, b"")


def test_the_person_at_the_terminal_is_told_where_to_go_and_who_can_come(served: Served) -> None:
    assert f"http://127.0.0.1:{served.page_port}/" in served.printed
    assert f"https://127.0.0.1:{served.port}/" in served.printed
    assert "Whoever is on this Wi-Fi can reach the sign-in page" in served.printed


def test_the_page_is_served_while_somebody_keeps_it_waiting(served: Served) -> None:
    with contextlib.ExitStack() as slow:
        for _ in range(20):
            slow.enter_context(socket.create_connection(("127.0.0.1", served.page_port)))
        assert served.plain("GET", "/")[0] == 200


def test_the_next_start_keeps_the_authority_and_the_end_frees_both_ports(tmp_path: Path) -> None:
    with serving(tmp_path) as first:
        installed, fingerprint = first.trusting(), first.fingerprint()
    for port in (first.port, first.page_port):
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", port))
    with serving(tmp_path) as second:
        assert second.fingerprint() == fingerprint
        assert second.secure(installed, "GET", "/api/session")[0] == 200


def test_the_page_ends_when_the_server_is_killed(tmp_path: Path) -> None:
    code = (
        "import os, signal; from continuity.serving.authority_page import served\n"
        f"with served('127.0.0.1', {(port := free_ports()[0])}, 'text', b'certificate'):\n"
        "    os.kill(os.getpid(), signal.SIGKILL)"
    )
    killed = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False, timeout=60)
    assert killed.returncode == -signal.SIGKILL
    until = time.monotonic() + 20
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port)).close()
        except ConnectionRefusedError:
            return
        time.sleep(0.1)
    pytest.fail("The page is still served.")


@pytest.mark.parametrize("option", ["--port", "--authority-port"])
def test_a_port_in_use_is_named_with_the_option_that_chooses_another(
    option: str, work_tree: Path, run_in: Run
) -> None:
    port, other_port = free_ports()
    other_option = "--authority-port" if option == "--port" else "--port"
    ports = [option, str(port), other_option, str(other_port)]
    with socket.create_server(("127.0.0.1", port)):
        done = run_in(work_tree, "manage.py", "up", "--lan", "--address", "127.0.0.1", *ports)
    assert done.returncode == 2
    expected = f"Port {port} is in use by another program. Choose another one, such as {option} {port + 1}.\n"
    assert done.stderr == expected
    assert not (work_tree / ".venv").exists()


# 203.0.113.0/24 is kept for documentation (RFC 5737): no machine has an address in it.
@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--lan", "--address", "203.0.113.7"], "203.0.113.7 is not an address of this machine."),
        (["--lan", "--address", "0.0.0.0"], "0.0.0.0 is not an address of this machine."),
        (["--lan", "--address", "two words"], "two words is neither an address nor a name."),
        (["--lan", "--address", "a.example"], "a.example is not a name of this machine"),
        (["--lan", "--host", "127.0.0.1"], "--lan serves on every address of this machine"),
        (
            ["--lan", "--port", "9000", "--authority-port", "9000"],
            "--port and --authority-port cannot both be",
        ),
        (["--address", "127.0.0.1"], "--address goes with --lan only."),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    options: list[str], sentence: str, work_tree: Path, run_in: Run
) -> None:
    done = run_in(work_tree, "manage.py", "up", *options)
    assert done.returncode == 2
    assert done.stderr.startswith(sentence)
    assert done.stderr.count("\n") == 1
    assert not (work_tree / ".venv").exists()


def alone(*commands: str) -> subprocess.CompletedProcess[str]:
    """Runs shell commands in a network of their own, in which there is nothing but loopback, not even up."""
    apart = ["unshare", "--map-root-user", "--net"]
    if (
        shutil.which("unshare") is None
        or subprocess.run([*apart, "true"], capture_output=True, check=False).returncode
    ):
        pytest.skip("no network can be set apart on this machine")
    return subprocess.run(
        [*apart, "sh", "-c", "\n".join(["set -e", *commands])],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_with_no_network_at_all_the_sentence_says_what_to_do() -> None:
    done = alone(f"{sys.executable} manage.py up --lan")
    assert done.returncode == 2
    assert done.stderr.startswith(
        "This machine has no address on a private network: join the trailer's Wi-Fi"
    )
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(shutil.which("ip") is None, reason="the ip program is not here")
def test_a_network_that_leads_nowhere_else_is_enough() -> None:
    ask = "from continuity.bootstrap.addresses import for_phones; print(for_phones([]))"
    done = alone("ip address add 192.168.7.20/24 dev lo", f'{sys.executable} -c "{ask}"')
    assert done.stdout == "['192.168.7.20']\n", done.stderr
