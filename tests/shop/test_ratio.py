"""Weights against a ratio, by the cases that the phone's tests run too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from continuity.shop.batch import Gel, Ratio, decimal_of, off_ratio

CASES = json.loads((Path(__file__).parent.parent / "cases" / "ratio.json").read_text())["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_how_far_off(case: dict[str, Any]) -> None:
    weighed = Gel(*(decimal_of(case["weighed"][part]) for part in ("a", "b", "deadener")))
    ratio = Ratio(*(decimal_of(case["ratio"][part]) for part in ("a", "b", "deadener")))
    off = off_ratio(weighed, ratio, decimal_of(case["tolerance_percent"]))
    assert [(one.part, float(one.percent)) for one in off] == [
        (one["part"], pytest.approx(one["percent"], abs=1e-9)) for one in case["off"]
    ]
