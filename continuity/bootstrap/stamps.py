"""Stamps: what a thing was made from, so that it is made again only when that has changed."""

from __future__ import annotations

import fcntl
import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from continuity.bootstrap.console import say


def digest(top: Path, paths: Iterable[Path]) -> str:
    """The SHA-256, in hexadecimal, over the names (relative to `top`) and contents of files.

    The order of `paths` does not matter. A missing file raises FileNotFoundError.
    """
    total = hashlib.sha256()
    for path in sorted(paths):
        name = path.relative_to(top).as_posix().encode()
        content = hashlib.sha256(path.read_bytes()).digest()
        total.update(len(name).to_bytes(4, "big") + name + content)
    return total.hexdigest()


def files_below(top: Path, skip: frozenset[str]) -> list[Path]:
    """Every file below `top`, but for what lies in the entries of `top` itself that are named in `skip`."""
    found: list[Path] = []
    for entry in top.iterdir():
        if entry.name in skip:
            continue
        found += [entry] if entry.is_file() else [path for path in entry.rglob("*") if path.is_file()]
    return found


class Stamp:
    """One stamp, kept in a file. The thing it tells of is made between `lift` and `press`.

    A making that was interrupted leaves no stamp, so the thing is made again.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def is_current(self, wanted: str) -> bool:
        return self.path.is_file() and self.path.read_text() == wanted

    def lift(self) -> None:
        self.path.unlink(missing_ok=True)

    def press(self, made_from: str) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        draft = self.path.with_suffix(".draft")
        draft.write_text(made_from)
        draft.replace(self.path)


@contextmanager
def one_at_a_time(directory: Path) -> Iterator[None]:
    """Two starts of the project at once: the second waits until the first has installed and built."""
    directory.mkdir(parents=True, exist_ok=True)
    with (directory / "lock").open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Waiting for another start of this project to finish installing.")
            fcntl.flock(file, fcntl.LOCK_EX)
        yield
