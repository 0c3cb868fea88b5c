"""The front end's packages and its build, each made again only when what it is made from has changed."""

from __future__ import annotations

from continuity.bootstrap import node, stamps
from continuity.bootstrap.console import progress, run_quietly
from continuity.bootstrap.node import Node
from continuity.bootstrap.places import DIST, FRONTEND, NODE_MODULES, STAMPS

PACKAGES = stamps.Stamp(STAMPS / "frontend-packages")
BUILD = stamps.Stamp(STAMPS / "frontend-build")
NOT_SOURCES = frozenset({NODE_MODULES.name, DIST.name})


def _packages_mark() -> str:
    return stamps.digest(FRONTEND, [FRONTEND / "package.json", FRONTEND / "package-lock.json"])


def packages_are_current() -> bool:
    return NODE_MODULES.is_dir() and PACKAGES.is_current(_packages_mark())


def build_mark() -> str:
    return stamps.digest(FRONTEND, stamps.files_below(FRONTEND, NOT_SOURCES))


def build_is_current() -> bool:
    return (DIST / "index.html").is_file() and BUILD.is_current(build_mark())


def ensure_packages(found: Node) -> None:
    """Raises CannotGoOn."""
    with stamps.one_at_a_time(STAMPS):
        if packages_are_current():
            return
        mark = _packages_mark()
        PACKAGES.lift()
        with progress("Installing the front end's packages"):
            # Without its development packages, which NODE_ENV=production would leave out, nothing builds.
            run_quietly(
                [found.npm, "ci", "--include=dev", "--no-audit", "--no-fund"],
                "The front end's packages could not be installed.",
                cwd=FRONTEND,
                env=found.environment(),
            )
        PACKAGES.press(mark)


def ensure_built() -> None:
    """Builds the front end when any of its sources has changed since the last build. Raises CannotGoOn."""
    if build_is_current():
        return
    found = node.find_or_install()
    ensure_packages(found)
    with stamps.one_at_a_time(STAMPS):
        if build_is_current():
            return
        mark = build_mark()
        BUILD.lift()
        with progress("Building the front end"):
            run_quietly(
                [found.npm, "run", "build"],
                "The front end could not be built.",
                cwd=FRONTEND,
                env=found.environment(),
            )
        BUILD.press(mark)
