"""The real server: with nobody doing anything, the order for what runs short is there a little later."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

from continuity.bootstrap.places import ROOT
from continuity.serving.beside import COMMANDS
from tests.bootstrap.test_serving import free_port, wait_for_answer


def _orders(database: Path) -> list[str]:
    if not database.exists():
        return []
    connection = sqlite3.connect(f"file:{database}?mode=ro", uri=True, timeout=20)
    try:
        return [state for (state,) in connection.execute("SELECT state FROM shop_order")]
    except sqlite3.OperationalError:
        # Its tables are still being made.
        return []
    finally:
        connection.close()


def _beside(server: int) -> list[str]:
    """The commands that run beside this server, one for each process."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            command = path.read_bytes().split(b"\0")
        except OSError:
            continue
        if b"--beside" in command and str(server).encode() in command:
            found.append(command[command.index(b"--beside") - 1].decode())
    return sorted(found)


def _session_members(leader: int) -> list[int]:
    """The processes of a session that are still there, ended ones left out."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, session = path.read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(session) == leader and state != "Z":
            found.append(int(path.parent.name))
    return found


def test_when_the_server_is_killed_nothing_of_it_goes_on(tmp_path: Path) -> None:
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "continuity.serving", "--host", "127.0.0.1", "--port", str(port)],
        cwd=ROOT,
        env={**env, "CONTINUITY_DATA_DIR": str(tmp_path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    try:
        wait_for_answer(process, port)
        assert len(_session_members(process.pid)) > 1
        process.kill()
        process.wait()
        until = time.monotonic() + 30
        while _session_members(process.pid) and time.monotonic() < until:
            time.sleep(0.1)
        assert _session_members(process.pid) == []
    finally:
        for left in _session_members(process.pid):
            os.kill(left, signal.SIGKILL)


def test_the_demo_gets_its_order_and_nothing_is_left_running(tmp_path: Path) -> None:
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    command = [sys.executable, "-m", "continuity.serving", "--host", "127.0.0.1", "--port", str(free_port())]
    process = subprocess.Popen(
        [*command, "--demo"],
        cwd=ROOT,
        env={**env, "CONTINUITY_DATA_DIR": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        until = time.monotonic() + 120
        while not _orders(tmp_path / "continuity.sqlite3") and time.monotonic() < until:
            assert process.poll() is None, process.communicate()
            time.sleep(0.2)
        assert _orders(tmp_path / "continuity.sqlite3") == ["asked_for"]
        assert _beside(process.pid) == sorted(COMMANDS)
    finally:
        process.send_signal(signal.SIGTERM)
        printed, _ = process.communicate(timeout=30)
    assert process.returncode == 0, printed
    assert "Traceback" not in printed
    assert _beside(process.pid) == []
