from __future__ import annotations

import socket
from pathlib import Path

import pytest

from .conftest import Run


@pytest.mark.parametrize("shared", [False, True])
def test_a_port_in_use_is_named_before_anything_is_installed(
    shared: bool, work_tree: Path, run_in: Run
) -> None:
    with socket.socket() as other:
        if shared:
            other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = run_in(work_tree, "manage.py", "up", "--port", str(port))
    assert done.returncode == 2
    assert done.stderr.startswith(f"Port {port} is in use by another program.")
    assert not (work_tree / ".venv").exists()


@pytest.mark.parametrize("host", ["no such host", "203.0.113.7"])
def test_an_address_of_another_machine_is_refused(host: str, work_tree: Path, run_in: Run) -> None:
    done = run_in(work_tree, "manage.py", "up", "--host", host)
    assert done.returncode == 2
    assert done.stderr == f"{host} is not an address of this machine.\n"


@pytest.mark.parametrize("port", ["0", "65536", "http"])
def test_a_port_that_is_none_is_refused(port: str, work_tree: Path, run_in: Run) -> None:
    done = run_in(work_tree, "manage.py", "up", "--port", port)
    assert done.returncode == 2
    assert port in done.stderr
    assert "Traceback" not in done.stderr


def test_help_installs_nothing(work_tree: Path, run_in: Run) -> None:
    done = run_in(work_tree, "manage.py", "up", "--help")
    assert done.returncode == 0
    assert "--demo" in done.stdout
    assert not (work_tree / ".venv").exists()
