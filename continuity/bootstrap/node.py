"""Node, for building the front end: the machine's own if it is new enough, else from a Python package."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

from continuity.bootstrap import environment
from continuity.bootstrap.places import VENV_BIN


@dataclass(frozen=True)
class Node:
    """A directory that holds both `node` and `npm`."""

    directory: Path

    @property
    def npm(self) -> Path:
        return self.directory / "npm"

    def environment(self) -> dict[str, str]:
        """The environment in which npm and all it starts find this Node first."""
        return {**os.environ, "PATH": f"{self.directory}{os.pathsep}{os.environ.get('PATH', '')}"}


def is_new_enough(version: str) -> bool:
    """Whether the answer of `node --version` is one that the front end's build tool runs on.

    These are 20.19 and later of 20, and 22.12 and later.
    """
    match = re.match(r"v(\d+)\.(\d+)\.", version)
    if match is None:
        return False
    major, minor = int(match[1]), int(match[2])
    return (major == 20 and minor >= 19) or (major == 22 and minor >= 12) or major > 22


def _on_path() -> Node | None:
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None or Path(node).parent != Path(npm).parent:
        return None
    answer = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)
    return Node(Path(node).parent) if is_new_enough(answer.stdout) else None


def find_or_install() -> Node:
    """Raises CannotGoOn when there is none and none can be installed."""
    found = _on_path()
    if found is None:
        environment.ensure("node")
        found = Node(VENV_BIN)
    return found
