"""Installing a Debian package where that needs nobody's leave: as root, on Debian or its kin."""

from __future__ import annotations

import os
import shutil

from continuity.bootstrap.console import progress, run_quietly


def can_install() -> bool:
    return os.geteuid() == 0 and shutil.which("apt-get") is not None


def install(package: str) -> None:
    """Installs a package with what it needs. Raises CannotGoOn."""
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    with progress(f"Installing {package} from Debian"):
        run_quietly(["apt-get", "update"], "The list of Debian's packages could not be had.", env=env)
        run_quietly(
            ["apt-get", "install", "--yes", "--no-install-recommends", package],
            f"{package} could not be installed.",
            env=env,
        )
