"""The Chromium in which the browser tests run."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from continuity.bootstrap import debian
from continuity.bootstrap.console import CannotGoOn

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
SETTING = "CONTINUITY_CHROMIUM"


def find() -> Path | None:
    """The browser named by the environment, or the first one on the PATH. Raises CannotGoOn."""
    given = os.environ.get(SETTING)
    if given:
        if not os.access(given, os.X_OK):
            raise CannotGoOn(f"{SETTING} is {given}, and there is no program there.")
        return Path(given)
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    return Path(found) if found else None


def ensure_certutil() -> None:
    """Sees to the program by which a browser is made to trust an authority; the tests go on without it.

    Raises CannotGoOn when it could be installed, and was not.
    """
    if shutil.which("certutil") is None and debian.can_install():
        debian.install("libnss3-tools")


def find_or_install() -> Path:
    """Raises CannotGoOn when there is none and none can be installed."""
    browser = find()
    if browser is None and debian.can_install():
        debian.install("chromium")
        browser = find()
    if browser is None:
        raise CannotGoOn(
            "The browser tests need Chromium, and it is not here. Install it (on Debian: sudo apt-get "
            f"install chromium), or set {SETTING} to the path of a Chromium or Chrome."
        )
    return browser
