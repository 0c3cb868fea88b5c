from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from continuity.bootstrap import chromium
from continuity.bootstrap.console import CannotGoOn
from continuity.bootstrap.steps import Report, Step

TESTS = """
import pytest

def test_good():
    pass

def test_bad():
    assert 1 == 2, "one is not two"

@pytest.fixture
def broken():
    raise RuntimeError

def test_with_an_error(broken):
    pass

@pytest.mark.skip
def test_left_out():
    pass
"""


def test_tests_are_counted_and_a_failure_is_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "test_sample.py").write_text(TESTS)
    junit = tmp_path / "report.xml"
    report = Report()
    options = ["-p", "no:django", "-p", "no:cacheprovider", "-c", os.devnull, f"--rootdir={tmp_path}"]
    command = [sys.executable, "-m", "pytest", *options, "test_sample.py", f"--junitxml={junit}"]
    assert not report.run(Step("Sample tests", command, tmp_path, os.environ, junit))
    quiet = [sys.executable, "-c", "print('quiet')"]
    assert report.run(Step("A good step", quiet, tmp_path, os.environ))
    assert report.close() == 1
    printed = capsys.readouterr().out
    assert "one is not two" in printed
    assert "quiet" not in printed
    assert "Failed: Sample tests\n" in printed
    assert printed.splitlines()[-1] == "1 passed, 2 failed, 1 skipped"


def test_a_test_runner_that_ends_before_its_report_is_a_failure(tmp_path: Path) -> None:
    report = Report()
    command = [sys.executable, "-c", "import sys; sys.exit(3)"]
    report.run(Step("Broken off", command, tmp_path, os.environ, tmp_path / "none.xml"))
    assert report.close() == 1


WAITS_FOR_THE_OTHER = """
import pathlib, sys, time
mine, other = map(pathlib.Path, sys.argv[1:])
mine.touch()
until = time.monotonic() + 30
while not other.exists() and time.monotonic() < until:
    time.sleep(0.01)
print("the other was", "there" if other.exists() else "missing")
sys.exit(mine.name == "second")
"""


def test_steps_side_by_side_run_at_the_same_time_and_are_told_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    names = ("first", "second")
    report = Report()
    report.run_side_by_side(
        *(
            Step(
                name,
                [sys.executable, "-c", WAITS_FOR_THE_OTHER, tmp_path / name, other],
                tmp_path,
                os.environ,
            )
            for name, other in zip(names, (tmp_path / "second", tmp_path / "first"), strict=True)
        )
    )
    assert report.failures == ["second"]
    printed = capsys.readouterr().out
    assert "the other was there" in printed
    assert printed.index("first ... ok") < printed.index("second ... FAILED")


def test_all_is_well_only_when_nothing_failed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report = Report()
    report.run(Step("A good step", [sys.executable, "-c", ""], tmp_path, os.environ))
    assert report.close() == 0
    report.could_not_run("Browser tests", CannotGoOn("There is no browser."))
    assert report.close() == 1
    assert "There is no browser." in capsys.readouterr().out


def test_a_browser_that_is_not_there_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(chromium.SETTING, str(tmp_path / "browser"))
    with pytest.raises(CannotGoOn, match="there is no program there"):
        chromium.find_or_install()
