"""Real installations from a wheel that is made here, so that no package registry is asked."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

from .conftest import Run

ENSURE = "from continuity.bootstrap import environment; environment.ensure()"


def make_wheel(directory: Path, version: str) -> Path:
    """A wheel of the package `probe`, which only knows its version."""
    wheel = directory / f"probe-{version}-py3-none-any.whl"
    about = f"probe-{version}.dist-info"
    files = {
        "probe.py": f"VERSION = {version!r}\n",
        f"{about}/METADATA": f"Metadata-Version: 2.1\nName: probe\nVersion: {version}\n",
        f"{about}/WHEEL": "Wheel-Version: 1.0\nGenerator: tests\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    names = [*files, f"{about}/RECORD"]
    files[f"{about}/RECORD"] = "".join(f"{name},,\n" for name in names)
    with zipfile.ZipFile(wheel, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return wheel


def ask_for(top: Path, version: str) -> None:
    wheel = make_wheel(top.parent, version)
    (top / "pyproject.toml").write_text(
        f'[project]\nname = "p"\nversion = "1"\ndependencies = ["probe @ {wheel.as_uri()}"]\n'
        "[dependency-groups]\ndev = []\n"
    )
    (top / "requirements.lock").write_text(f"probe=={version}\n")


def installed_version(top: Path) -> str:
    command = [str(top / ".venv" / "bin" / "python"), "-c", "import probe; print(probe.VERSION)"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()


def test_packages_are_installed_once_and_again_only_after_a_change(work_tree: Path, run_in: Run) -> None:
    ask_for(work_tree, "1.0")
    first = run_in(work_tree, "-c", ENSURE)
    assert first.returncode == 0, first.stderr
    assert "Installing the Python packages" in first.stderr
    assert installed_version(work_tree) == "1.0"

    # Without pip, an attempt to install would fail: so nothing is attempted, and no network is needed.
    site_packages = next((work_tree / ".venv" / "lib").glob("python3.*")) / "site-packages"
    hidden = work_tree / "pip"
    (site_packages / "pip").rename(hidden)
    second = run_in(work_tree, "-c", ENSURE)
    assert (second.returncode, second.stdout, second.stderr) == (0, "", "")
    hidden.rename(site_packages / "pip")

    ask_for(work_tree, "2.0")
    third = run_in(work_tree, "-c", ENSURE)
    assert third.returncode == 0, third.stderr
    assert installed_version(work_tree) == "2.0"


def test_an_installation_that_was_killed_half_way_heals(work_tree: Path) -> None:
    ask_for(work_tree, "1.0")
    command = [sys.executable, "-c", ENSURE]
    env = {**os.environ, "PIP_NO_INDEX": "1"}
    running = subprocess.Popen(
        command, cwd=work_tree, env=env, stderr=subprocess.PIPE, start_new_session=True
    )
    until = time.monotonic() + 60
    while not (work_tree / ".venv" / "unfinished").exists():
        assert time.monotonic() < until
        time.sleep(0.01)
    os.killpg(running.pid, signal.SIGKILL)
    running.communicate()
    assert not (work_tree / ".venv" / "installed.json").exists()

    healed = subprocess.run(command, cwd=work_tree, env=env, capture_output=True, text=True, check=False)
    assert healed.returncode == 0, healed.stderr
    assert installed_version(work_tree) == "1.0"


def test_packages_that_cannot_be_had_end_with_a_sentence(work_tree: Path, run_in: Run) -> None:
    ask_for(work_tree, "1.0")
    for wheel in work_tree.parent.glob("*.whl"):
        wheel.unlink()
    failed = run_in(work_tree, "manage.py", "check")
    assert failed.returncode == 1
    assert failed.stderr.rstrip().endswith("The Python packages could not be installed.")


@pytest.fixture
def ready_tree(work_tree: Path) -> Path:
    """A work tree whose environment is up to date; its Python only says what it was asked to run."""
    from continuity.bootstrap.environment import installed_mark

    ask_for(work_tree, "1.0")
    bin_directory = work_tree / ".venv" / "bin"
    bin_directory.mkdir(parents=True)
    python = bin_directory / "python"
    python.write_text('#!/bin/sh\nprintf "%s\\n" "$@"\n')
    python.chmod(0o755)
    project = {
        "project": {
            "dependencies": [f"probe @ {(work_tree.parent / 'probe-1.0-py3-none-any.whl').as_uri()}"]
        },
        "dependency-groups": {"dev": []},
    }
    mark = installed_mark(project, (work_tree / "requirements.lock").read_bytes(), frozenset())
    (work_tree / ".venv" / "installed.json").write_text(mark)
    return work_tree


def test_any_python_hands_a_command_on_to_the_environment(ready_tree: Path, run_in: Run) -> None:
    done = run_in(ready_tree, "-S", "manage.py", "cover", "--plan", "a plan.json")
    assert done.returncode == 0
    assert done.stdout.splitlines() == [str(ready_tree / "manage.py"), "cover", "--plan", "a plan.json"]
    assert done.stderr == ""


def test_a_work_tree_reached_by_another_name_is_the_same(ready_tree: Path, run_in: Run) -> None:
    other_name = ready_tree.parent / "by another name"
    other_name.symlink_to(ready_tree)
    done = run_in(other_name, "manage.py", "bench")
    assert done.stdout.splitlines() == [str(ready_tree / "manage.py"), "bench"]
