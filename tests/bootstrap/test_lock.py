from __future__ import annotations

import tomllib
from importlib import metadata

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from continuity.bootstrap.environment import requirements
from continuity.bootstrap.places import LOCK_FILE, PROJECT_FILE


def pins() -> dict[str, str]:
    lines = [line for line in LOCK_FILE.read_text().splitlines() if line and not line.startswith("#")]
    return {canonicalize_name(name): version for name, _, version in (line.partition("==") for line in lines)}


def needed(requirement: Requirement) -> set[tuple[str, str]]:
    """The names and extras of all that a requirement brings with it here, itself included."""
    found: set[tuple[str, str]] = set()
    ahead = [requirement]
    while ahead:
        current = ahead.pop()
        for extra in current.extras | {""}:
            key = (canonicalize_name(current.name), extra)
            if key in found:
                continue
            found.add(key)
            for text in metadata.requires(current.name) or []:
                further = Requirement(text)
                if further.marker is None or further.marker.evaluate({"extra": extra}):
                    ahead.append(further)
    return found


def test_everything_installed_for_the_project_is_locked_at_the_installed_version() -> None:
    with PROJECT_FILE.open("rb") as file:
        project = tomllib.load(file)
    locked = pins()
    names = {
        name for text in requirements(project, frozenset({"dev"})) for name, _ in needed(Requirement(text))
    }
    assert {name: metadata.version(name) for name in names} == {name: locked[name] for name in names}


def test_the_lock_holds_only_exact_versions() -> None:
    for line in LOCK_FILE.read_text().splitlines():
        if not line.startswith("#"):
            (specifier,) = Requirement(line).specifier
            assert (specifier.operator, "*" in specifier.version) == ("==", False)
