"""Files with a secret in them: written whole or not at all, readable by their owner only."""

from __future__ import annotations

import os
from pathlib import Path


def _draft(path: Path, content: bytes) -> Path:
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    draft.unlink(missing_ok=True)
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return draft


def write_once(path: Path, content: bytes) -> None:
    """Two starts at once: the first of them makes the file, whole, and the second leaves it as it is."""
    draft = _draft(path, content)
    try:
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()


def replace(path: Path, content: bytes) -> None:
    """Whoever reads the file finds it whole, as it was or as it is now."""
    _draft(path, content).replace(path)
