"""What is said to the person at the terminal, and running other programs."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path


class CannotGoOn(Exception):
    """Ends the command with one sentence for the user and an exit code."""

    def __init__(self, sentence: str, exit_code: int = 1) -> None:
        super().__init__(sentence)
        self.exit_code = exit_code


def say(text: str) -> None:
    """Progress goes to standard error: a command's standard output may be piped into another program."""
    print(text, file=sys.stderr, flush=True)


@contextmanager
def progress(heading: str) -> Iterator[None]:
    """Says what is being done, and how many seconds it took once it is done."""
    print(f"{heading} ... ", end="", file=sys.stderr, flush=True)
    start = time.monotonic()
    try:
        yield
    except BaseException:
        say("not finished")
        raise
    say(f"{time.monotonic() - start:.1f} s")


def run_quietly(
    command: Sequence[str | Path],
    failure: str,
    *,
    cwd: Path | None = None,
    env: Mapping[str, str] | None = None,
) -> None:
    """Runs a program whose output matters only when it fails.

    Raises CannotGoOn with the end of its output and the sentence `failure`.
    """
    done = run_and_keep_output(command, cwd=cwd, env=env)
    if done.returncode != 0:
        ending = "\n".join(done.stdout.splitlines()[-40:])
        raise CannotGoOn(f"{ending}\n{failure}")


def run_and_keep_output(
    command: Sequence[str | Path], *, cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Runs a program to its end; all it printed is in `stdout`."""
    return subprocess.run(
        command,
        cwd=cwd,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        check=False,
    )
