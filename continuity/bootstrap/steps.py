"""Steps of `verify`: each is one program, timed, its output shown when it fails, its tests counted."""

from __future__ import annotations

import subprocess
import sys
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from continuity.bootstrap.console import CannotGoOn, run_and_keep_output


@dataclass(frozen=True)
class Count:
    """How many tests passed, failed (or could not be run for an error), and were skipped."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(self.passed + other.passed, self.failed + other.failed, self.skipped + other.skipped)

    def line(self) -> str:
        """In the plain form that test services read: '12 passed, 0 failed', and the skipped if there are."""
        line = f"{self.passed} passed, {self.failed} failed"
        return f"{line}, {self.skipped} skipped" if self.skipped else line


def count_tests(junit_file: Path) -> Count:
    """Counts a test runner's JUnit report; none at all when there is no such file."""
    if not junit_file.is_file():
        return Count()
    total = Count()
    report = ElementTree.parse(junit_file)  # noqa: S314 - written by the project's own test runners
    for case in report.iter("testcase"):
        outcomes = {outcome.tag for outcome in case}
        if outcomes & {"failure", "error"}:
            total += Count(failed=1)
        elif "skipped" in outcomes:
            total += Count(skipped=1)
        else:
            total += Count(passed=1)
    return total


@dataclass(frozen=True)
class Step:
    """One program to run. The tests in `junit_file`, the report that a test runner leaves, are counted."""

    heading: str
    command: Sequence[str | Path]
    cwd: Path
    env: Mapping[str, str]
    junit_file: Path | None = None


@dataclass
class Report:
    """What has been run so far."""

    failures: list[str] = field(default_factory=list)
    count: Count = Count()

    def run(self, step: Step) -> bool:
        """Runs one step and says how it went; its output is shown if it failed."""
        print(f"{step.heading} ... ", end="", flush=True)
        return self._tell(step, *_run(step))

    def run_side_by_side(self, *steps: Step) -> None:
        """Runs steps that do not disturb each other at the same time, and says of each how it went."""
        print(f"{' and '.join(step.heading for step in steps)}, side by side ...", flush=True)
        with ThreadPoolExecutor(len(steps)) as threads:
            for step, ended in zip(steps, threads.map(_run, steps), strict=True):
                print(f"{step.heading} ... ", end="")
                self._tell(step, *ended)

    def _tell(self, step: Step, done: subprocess.CompletedProcess[str], seconds: float) -> bool:
        good = done.returncode == 0
        outcome = ["ok" if good else "FAILED"]
        if step.junit_file is not None:
            tests = count_tests(step.junit_file)
            self.count += tests
            outcome.append(tests.line())
        print(", ".join([*outcome, f"{seconds:.1f} s"]), flush=True)
        if not good:
            self.failures.append(step.heading)
            print(done.stdout, flush=True)
        return good

    def could_not_run(self, heading: str, why: CannotGoOn) -> None:
        print(f"{heading} ... FAILED\n{why}", flush=True)
        self.failures.append(heading)

    def close(self) -> int:
        """Prints the summary, with the count alone on the last line, and returns the exit code."""
        if self.failures:
            print("\nFailed: " + "; ".join(self.failures))
        else:
            print("\nAll is well.")
        print(self.count.line())
        sys.stdout.flush()
        return 1 if self.failures else 0


def _run(step: Step) -> tuple[subprocess.CompletedProcess[str], float]:
    start = time.monotonic()
    done = run_and_keep_output(step.command, cwd=step.cwd, env=step.env)
    return done, time.monotonic() - start
