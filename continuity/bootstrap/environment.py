"""The project's own virtual environment: the packages of pyproject.toml, at the locked versions."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tomllib
from typing import Any

from continuity.bootstrap import debian
from continuity.bootstrap.console import CannotGoOn, progress, run_quietly
from continuity.bootstrap.places import LOCK_FILE, PROJECT_FILE, STAMPS, VENV, VENV_PYTHON
from continuity.bootstrap.stamps import Stamp, one_at_a_time

INSTALLED = Stamp(VENV / "installed.json")
# There while packages are being installed; found at a start, the last installation was cut off half-way.
UNFINISHED = VENV / "unfinished"


def in_venv() -> bool:
    """Whether the Python that runs this is the project's own."""
    return VENV.is_dir() and os.path.samefile(sys.prefix, VENV)


def requirements(project: dict[str, Any], groups: frozenset[str]) -> list[str]:
    """The requirements of a parsed pyproject.toml: its dependencies and those of the named groups."""
    wanted: list[str] = list(project["project"]["dependencies"])
    for group in sorted(groups):
        wanted += project["dependency-groups"][group]
    return wanted


def _read_project() -> dict[str, Any]:
    with PROJECT_FILE.open("rb") as file:
        return tomllib.load(file)


def installed_mark(project: dict[str, Any], lock: bytes, groups: frozenset[str]) -> str:
    """What the stamp holds when these groups are installed from this project file and lock."""
    asked = json.dumps([project["project"]["dependencies"], project["dependency-groups"]]).encode()
    made_from = hashlib.sha256(asked + b"\0" + lock).hexdigest()
    return json.dumps({"made_from": made_from, "groups": sorted(groups)})


def _installed_groups() -> frozenset[str]:
    if not INSTALLED.path.is_file():
        return frozenset()
    return frozenset(json.loads(INSTALLED.path.read_text())["groups"])


def ensure(*groups: str) -> None:
    """Makes the environment, or brings it up to date, with the dependencies and the named groups in it.

    Asks no package registry when nothing has changed. Groups that are there already are kept up to date.
    Raises CannotGoOn.
    """
    with one_at_a_time(STAMPS):
        _ensure(frozenset(groups))


def _ensure(groups: frozenset[str]) -> None:
    project, lock = _read_project(), LOCK_FILE.read_bytes()
    if UNFINISHED.exists():
        shutil.rmtree(VENV)
    if VENV_PYTHON.exists():
        groups |= _installed_groups()
        if INSTALLED.is_current(installed_mark(project, lock, groups)):
            return
    else:
        with progress("Making the virtual environment"):
            _make_venv()
    INSTALLED.lift()
    UNFINISHED.touch()
    options = ["--no-input", "--disable-pip-version-check", "-c", str(LOCK_FILE)]
    command = [str(VENV_PYTHON), "-m", "pip", "install", *options, *requirements(project, groups)]
    try:
        with progress("Installing the Python packages"):
            # A user's or a distribution's own pip settings may ask for what an environment refuses.
            run_quietly(
                command, "The Python packages could not be installed.", env={**os.environ, "PIP_USER": "0"}
            )
    except CannotGoOn:
        # pip ended by itself and has put back what it found: the environment is old, but whole.
        UNFINISHED.unlink()
        raise
    INSTALLED.press(installed_mark(project, lock, groups))
    UNFINISHED.unlink()


def _make_venv() -> None:
    if VENV.exists():
        shutil.rmtree(VENV)
    VENV.mkdir()
    UNFINISHED.touch()
    # The base interpreter: this may be running in an environment that was just removed.
    python = getattr(sys, "_base_executable", None) or sys.executable
    command = [python, "-m", "venv", VENV]
    if subprocess.run(command, capture_output=True, check=False).returncode == 0:
        return
    # Debian keeps the part of the standard library that puts pip into an environment in a package of its own.
    package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    sentence = (
        "This Python cannot make a virtual environment. "
        f"On Debian or Ubuntu, install {package}: sudo apt-get install {package}"
    )
    if debian.can_install():
        debian.install(package)
    run_quietly(command, sentence)
