"""A PostgreSQL cluster for one run of the tests: made, used and removed, and never reached from elsewhere."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from continuity.bootstrap import debian
from continuity.bootstrap.console import CannotGoOn

WAIT = 30.0
"""Seconds a new cluster has for its first answer."""


@dataclass(frozen=True)
class Account:
    """Whom the cluster runs as; None for the one who runs this."""

    user: int | None
    group: int | None


def account() -> Account:
    """PostgreSQL refuses to run as root: the cluster is then that of `postgres`, or failing that of `nobody`.

    Raises CannotGoOn when there is neither.
    """
    if os.geteuid() != 0:
        return Account(None, None)
    for name in ("postgres", "nobody"):
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(entry.pw_uid, entry.pw_gid)
    raise CannotGoOn("PostgreSQL does not run as root, and there is no account `postgres` or `nobody` here.")


def find_programs() -> Path | None:
    """The directory with `initdb` and `postgres`; the newest version where there are several."""
    versions = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    for initdb in sorted(versions, key=lambda path: float(path.parts[-3]), reverse=True):
        return initdb.parent
    found = shutil.which("initdb")
    return Path(found).resolve().parent if found else None


def find_or_install() -> Path:
    """The directory with PostgreSQL's programs. Raises CannotGoOn."""
    programs = find_programs()
    if programs is None and debian.can_install():
        debian.install("postgresql")
        programs = find_programs()
    if programs is None:
        raise CannotGoOn(
            "The server tests also run on PostgreSQL, and it is not here. Install it (on Debian or Ubuntu: "
            "sudo apt-get install postgresql), with `initdb` on the PATH elsewhere."
        )
    return programs


@contextmanager
def throwaway_cluster() -> Iterator[str]:
    """A running, empty cluster. Yields its address, as for DATABASE_URL. Raises CannotGoOn.

    It listens on a socket in a directory of its own only, and is stopped and removed whatever happens.
    """
    programs, owner = find_or_install(), account()
    # A short path: the name of a socket may not be longer than about a hundred bytes.
    top = Path(tempfile.mkdtemp(prefix="continuity-pg-"))
    server: subprocess.Popen[bytes] | None = None
    log = (top / "log").open("wb")
    try:
        if owner.user is not None and owner.group is not None:
            os.chown(top, owner.user, owner.group)
        _initdb(programs, top, owner)
        command: list[str | Path] = [programs / "postgres", "-D", top / "data", "-k", top]
        server = subprocess.Popen(
            [*command, *_settings()],
            cwd=top,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            user=owner.user,
            group=owner.group,
            extra_groups=None if owner.user is None else [],
            # Ctrl-C in the terminal is for the tests; the cluster is stopped below, after them.
            start_new_session=True,
        )
        _wait_for_answer(programs, top, server)
        yield f"postgresql://continuity@{quote(str(top), safe='')}/continuity"
    finally:
        if server is not None:
            # "Immediate shutdown": what it holds is thrown away anyway.
            server.send_signal(signal.SIGQUIT)
            server.wait()
        log.close()
        shutil.rmtree(top, ignore_errors=True)


def _settings() -> list[str]:
    chosen = {"listen_addresses": "", "fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
    return [part for name, value in chosen.items() for part in ("-c", f"{name}={value}")]


def _initdb(programs: Path, top: Path, owner: Account) -> None:
    options = ["-U", "continuity", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    command = [str(programs / "initdb"), "-D", str(top / "data"), *options]
    done = subprocess.run(
        command,
        cwd=top,
        capture_output=True,
        text=True,
        user=owner.user,
        group=owner.group,
        extra_groups=None if owner.user is None else [],
        check=False,
    )
    if done.returncode != 0:
        raise CannotGoOn(f"{done.stdout}{done.stderr}\nA PostgreSQL cluster could not be made.")


def _wait_for_answer(programs: Path, top: Path, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + WAIT
    ready = [str(programs / "pg_isready"), "-q", "-h", str(top), "-U", "continuity", "-d", "postgres"]
    while time.monotonic() < until and server.poll() is None:
        if subprocess.run(ready, check=False).returncode == 0:
            return
        time.sleep(0.05)
    raise CannotGoOn(f"{(top / 'log').read_text()}\nThe PostgreSQL cluster did not start.")
