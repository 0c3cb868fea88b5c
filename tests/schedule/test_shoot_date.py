"""Which shoot day it is, by the cases that the phone's own rule is held to as well: constructed here."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import pytest

from continuity.schedule.shoot_date import Hours, shoot_date

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[1] / "cases" / "shoot_date.json").read_text()
)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["says"])
def test_which_shoot_day_it_is(case: dict[str, Any]) -> None:
    days = [
        Hours(
            datetime.date.fromisoformat(date),
            datetime.time.fromisoformat(call),
            datetime.time.fromisoformat(wrap),
        )
        for date, call, wrap in case["days"]
    ]
    found = shoot_date(datetime.datetime.fromisoformat(case["at"]), days)
    assert found == datetime.date.fromisoformat(case["date"])
