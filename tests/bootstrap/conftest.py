from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from continuity.bootstrap.places import ROOT

Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def work_tree(tmp_path: Path) -> Path:
    """A work tree with the bootstrap and nothing else of the project in it."""
    top = tmp_path / "project"
    (top / "continuity").mkdir(parents=True)
    shutil.copy(ROOT / "manage.py", top)
    shutil.copy(ROOT / "continuity" / "__init__.py", top / "continuity")
    ignore = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "continuity" / "bootstrap", top / "continuity" / "bootstrap", ignore=ignore)
    return top


@pytest.fixture
def run_in() -> Run:
    """Runs a plain Python, one that is not the work tree's own, with these arguments in a work tree."""

    def run(top: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=top,
            env={**os.environ, "PIP_NO_INDEX": "1", "npm_config_offline": "true"},
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )

    return run
