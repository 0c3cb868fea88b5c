from __future__ import annotations

import os
from pathlib import Path

import pytest

from continuity.bootstrap.stamps import Stamp, digest, files_below


def test_a_digest_tells_contents_and_names_apart_but_not_dates(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    first.write_text("one")
    second.write_text("two")
    before = digest(tmp_path, [first, second])

    os.utime(first, (0, 0))
    assert digest(tmp_path, [second, first]) == before

    first.write_text("ONE")
    changed = digest(tmp_path, [first, second])
    assert changed != before

    first.write_text("two")
    second.write_text("one")
    assert digest(tmp_path, [first, second]) not in {before, changed}


def test_a_file_that_moves_its_end_into_the_next_one_is_a_change(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    first.write_text("one two")
    second.write_text("")
    before = digest(tmp_path, [first, second])
    first.write_text("one ")
    second.write_text("two")
    assert digest(tmp_path, [first, second]) != before


def test_only_entries_at_the_top_are_skipped(tmp_path: Path) -> None:
    (tmp_path / "dist").mkdir()
    (tmp_path / "dist" / "made.js").write_text("made")
    (tmp_path / "src" / "dist").mkdir(parents=True)
    (tmp_path / "src" / "dist" / "written.ts").write_text("written")
    (tmp_path / "index.html").write_text("page")
    found = {path.name for path in files_below(tmp_path, frozenset({"dist"}))}
    assert found == {"written.ts", "index.html"}


def test_a_making_that_was_cut_off_leaves_no_stamp(tmp_path: Path) -> None:
    stamp = Stamp(tmp_path / "stamps" / "build")
    assert not stamp.is_current("sources")
    stamp.press("sources")
    assert stamp.is_current("sources")
    assert not stamp.is_current("other sources")

    with pytest.raises(KeyboardInterrupt):
        cut_off(stamp)
    assert not stamp.is_current("sources")


def cut_off(stamp: Stamp) -> None:
    stamp.lift()
    raise KeyboardInterrupt
