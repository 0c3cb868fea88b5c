"""What the guide for developers and the heads of the packages name is there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
DOMAIN = ROOT / "continuity"
A_FILE = re.compile(r"`((?!\.data/)(?:(?:[\w.-]+/)*[\w-]+\.(?:py|ts|json|toml)|(?:[\w.-]+/)+))`")


def test_every_file_the_guide_names_is_there() -> None:
    lost = []
    for line in (ROOT / "DEVELOPERS.md").read_text().splitlines():
        named = A_FILE.findall(line)
        # A bare name lies beside a file that the same line has named.
        beside = [(ROOT / name).parent for name in named if "/" in name]
        lost += [name for name in named if not _lies_in(name, ROOT, DOMAIN, *beside)]
    # Of each package, and not of one.
    assert sorted(set(lost)) == ["documents.py", "records.py"]


def test_every_file_a_package_names_is_there() -> None:
    heads = [head for head in DOMAIN.glob("*/__init__.py") if A_FILE.search(head.read_text())]
    assert len(heads) > 10
    for head in heads:
        named = A_FILE.findall(head.read_text())
        assert [name for name in named if not _lies_in(name, head.parent, DOMAIN, ROOT)] == [], head


def _lies_in(name: str, *places: Path) -> bool:
    return any((place / name).exists() for place in places)
