"""How long something takes is said in one way, on paper and on the phone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from continuity.durations import minutes_in_words

CASES: list[dict[str, Any]] = json.loads((Path(__file__).parent / "cases" / "durations.json").read_text())


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["words"]))
def test_minutes_in_words(case: dict[str, Any]) -> None:
    assert minutes_in_words(case["minutes"]) == case["words"]
