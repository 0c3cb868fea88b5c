from __future__ import annotations

import ast
import sys

import pytest

from continuity.bootstrap.places import ROOT
from continuity.bootstrap.supported import why_unsupported


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 13, 0), (4, 0, 0)])
@pytest.mark.parametrize("platform", ["linux", "darwin"])
def test_a_python_that_is_new_enough_goes_on(version: tuple[int, ...], platform: str) -> None:
    assert why_unsupported(version, platform) == ""


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 9, 18), (3, 10, 13)])
def test_an_older_python_is_told_what_is_needed(version: tuple[int, ...]) -> None:
    sentence = why_unsupported(version, "linux")
    assert "Python 3.11 or later is needed" in sentence
    assert ".".join(map(str, version)) in sentence


def test_windows_is_told_what_to_use() -> None:
    assert "Linux and macOS" in why_unsupported((3, 13, 0), "win32")


def test_the_python_that_runs_this_is_supported() -> None:
    assert why_unsupported(tuple(sys.version_info[:3]), sys.platform) == ""


@pytest.mark.parametrize("file", ["manage.py", "continuity/__init__.py", "continuity/bootstrap/__init__.py"])
def test_what_runs_before_the_version_is_checked_parses_on_an_old_python(file: str) -> None:
    ast.parse((ROOT / file).read_text(), feature_version=(3, 7))
    ast.parse((ROOT / "continuity/bootstrap/supported.py").read_text(), feature_version=(3, 7))
