"""A small front end, installed and built with the real npm; its build counts how often it ran."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from continuity.bootstrap.node import is_new_enough

from .conftest import Run

BUILD = "from continuity.bootstrap import frontend; frontend.ensure_built()"
SCRIPT = """
const fs = require("fs");
fs.appendFileSync("../builds", "x");
const source = fs.readFileSync("src/main.ts", "utf8");
if (source.includes("mistake")) process.exit(1);
fs.mkdirSync("dist", { recursive: true });
fs.writeFileSync("dist/index.html", source);
"""


@pytest.fixture
def small_frontend(work_tree: Path) -> Path:
    top = work_tree / "frontend"
    (top / "src").mkdir(parents=True)
    (top / "part").mkdir()
    part = {"name": "part", "version": "1.0.0"}
    (top / "part" / "package.json").write_text(json.dumps(part))
    about = {"name": "small", "version": "1.0.0", "dependencies": {"part": "file:part"}}
    (top / "package.json").write_text(json.dumps(about | {"scripts": {"build": "node build.cjs"}}))
    packages = {"": about, "node_modules/part": {"resolved": "part", "link": True}, "part": part}
    lock = {"name": "small", "version": "1.0.0", "lockfileVersion": 3, "requires": True}
    (top / "package-lock.json").write_text(json.dumps(lock | {"packages": packages}))
    (top / "build.cjs").write_text(SCRIPT)
    (top / "src" / "main.ts").write_text("first")
    return work_tree


def builds(top: Path) -> int:
    return len((top / "builds").read_text())


def test_it_is_built_again_only_when_a_source_has_changed(small_frontend: Path, run_in: Run) -> None:
    page = small_frontend / "frontend" / "dist" / "index.html"
    first = run_in(small_frontend, "-c", BUILD)
    assert first.returncode == 0, first.stderr
    assert page.read_text() == "first"

    (small_frontend / "frontend" / "src" / "main.ts").touch()
    second = run_in(small_frontend, "-c", BUILD)
    assert (second.returncode, second.stderr) == (0, "")
    assert builds(small_frontend) == 1

    (small_frontend / "frontend" / "src" / "main.ts").write_text("second")
    third = run_in(small_frontend, "-c", BUILD)
    assert page.read_text() == "second"
    assert "Installing the front end's packages" not in third.stderr
    assert builds(small_frontend) == 2

    shutil.rmtree(page.parent)
    run_in(small_frontend, "-c", BUILD)
    assert page.read_text() == "second"


def test_a_build_that_failed_is_tried_again(small_frontend: Path, run_in: Run) -> None:
    source = small_frontend / "frontend" / "src" / "main.ts"
    run_in(small_frontend, "-c", BUILD)
    source.write_text("mistake")
    failed = run_in(small_frontend, "-c", BUILD)
    assert failed.returncode != 0
    assert "The front end could not be built." in failed.stderr
    source.write_text("first")
    again = run_in(small_frontend, "-c", BUILD)
    assert again.returncode == 0
    assert builds(small_frontend) == 3


def test_changed_packages_are_installed_again(small_frontend: Path, run_in: Run) -> None:
    assert "Installing the front end's packages" in run_in(small_frontend, "-c", BUILD).stderr
    lock = small_frontend / "frontend" / "package-lock.json"
    lock.write_text(lock.read_text() + "\n")
    assert "Installing the front end's packages" in run_in(small_frontend, "-c", BUILD).stderr


# What the front end's build tool runs on, from its package's own `engines`: ^20.19.0 || >=22.12.0.
@pytest.mark.parametrize("version", ["v20.19.0", "v20.20.2", "v22.12.0", "v22.20.0", "v24.1.0"])
def test_a_node_that_is_new_enough(version: str) -> None:
    assert is_new_enough(version + "\n")


@pytest.mark.parametrize("version", ["v18.20.0", "v20.18.3", "v21.7.0", "v22.11.0", "", "not a version"])
def test_a_node_that_is_not(version: str) -> None:
    assert not is_new_enough(version + "\n")
