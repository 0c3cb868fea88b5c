"""Reading a plan from JSON text, strictly, and writing its cover as JSON values.

The plan:

    {"target": 0.98, "prior": [a, b], "log": {"good": g, "spoiled": s}, "on_set": n,
     "arrivals": [{"date": "2026-03-02", "copies": n}], "days": [{"date": "2026-03-02", "copies_needed": k}]}

Every field has to be there; `arrivals` and `days` may be empty. Whatever is not expected is refused, so that
a misspelt field is not taken for a missing one.
"""

from __future__ import annotations

import datetime
import json
import math
import re
from typing import Any, NoReturn

from continuity.cover.calculation import (
    MOST_COPIES,
    Arrival,
    Cover,
    InvalidPlan,
    Plan,
    PlannedDay,
    check_plan,
)
from continuity.cover.consumption import LEAST_WEIGHT, Beta, UsageLog

MOST_BYTES = 1_000_000
MOST_DAYS = 2_000
MOST_ARRIVALS = 2_000
MOST_COPIES_A_DAY = 1_000
MOST_LOGGED = 1_000_000
MOST_PRIOR = 1_000_000

_WHOLE = "plan"
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def read_plan(text: bytes) -> Plan:
    """The plan in `text` (JSON in UTF-8). Raises InvalidPlan, naming the field, for anything else."""
    if len(text) > MOST_BYTES:
        raise InvalidPlan(_WHOLE, f"must be {MOST_BYTES} bytes or less")
    try:
        value = json.loads(
            text.decode("utf-8-sig"), object_pairs_hook=_object, parse_constant=_refuse_constant
        )
    except UnicodeDecodeError:
        raise InvalidPlan(_WHOLE, "must be text in UTF-8") from None
    except json.JSONDecodeError as error:
        raise InvalidPlan(
            _WHOLE, f"is not JSON (line {error.lineno}, column {error.colno}: {error.msg})"
        ) from None
    except InvalidPlan:
        raise
    except (ValueError, RecursionError):
        raise InvalidPlan(_WHOLE, "holds a number or a nesting beyond all bounds") from None

    fields = _fields(value, "", ("target", "prior", "log", "on_set", "arrivals", "days"))
    log = _fields(fields["log"], "log", ("good", "spoiled"))
    plan = Plan(
        target=_number(fields["target"], "target"),
        prior=_prior(fields["prior"]),
        log=UsageLog(
            good=_count(log["good"], "log.good", MOST_LOGGED),
            spoiled=_count(log["spoiled"], "log.spoiled", MOST_LOGGED),
        ),
        on_set=_count(fields["on_set"], "on_set", MOST_COPIES),
        arrivals=tuple(
            Arrival(*_dated(value, f"arrivals[{i}]", "copies", MOST_COPIES))
            for i, value in enumerate(_list(fields["arrivals"], "arrivals", MOST_ARRIVALS))
        ),
        days=tuple(
            PlannedDay(*_dated(value, f"days[{i}]", "copies_needed", MOST_COPIES_A_DAY))
            for i, value in enumerate(_list(fields["days"], "days", MOST_DAYS))
        ),
    )
    check_plan(plan)
    return plan


def cover_as_json(cover: Cover) -> dict[str, Any]:
    """The cover as values that `json.dumps` takes. What is not finite or not there is None (null)."""
    return {
        "days": [
            {
                "date": day.date.isoformat(),
                "expected_left": day.expected_left,
                "left_p10": day.left_p10,
                "left_p90": day.left_p90,
                "p_short_by": day.p_short_by,
            }
            for day in cover.days
        ],
        "p_covered": cover.p_covered,
        "first_day_at_risk": cover.first_day_at_risk.isoformat() if cover.first_day_at_risk else None,
        "spares_now": cover.spares_now,
    }


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise InvalidPlan(_shown(name), "is given twice in one place")
        found[name] = value
    return found


def _refuse_constant(name: str) -> NoReturn:
    raise InvalidPlan(_WHOLE, f"must not hold {name}, which is not a number in JSON")


def _shown(name: str) -> str:
    """A field name from outside, fit for one line."""
    if re.fullmatch(r"[A-Za-z0-9_]{1,60}", name):
        return name
    return json.dumps(name if len(name) <= 60 else name[:60] + "…")


def _fields(value: Any, path: str, names: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise InvalidPlan(path or _WHOLE, f"must be an object with {', '.join(names)}")
    inside = f"{path}." if path else ""
    for name in value:
        if name not in names:
            raise InvalidPlan(f"{inside}{_shown(name)}", "is not a field of a plan")
    for name in names:
        if name not in value:
            raise InvalidPlan(f"{inside}{name}", "is missing")
    return value


def _list(value: Any, path: str, most: int) -> list[Any]:
    if not isinstance(value, list):
        raise InvalidPlan(path, "must be a list")
    if len(value) > most:
        raise InvalidPlan(path, f"must have {most} entries or fewer")
    return value


def _number(value: Any, path: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InvalidPlan(path, "must be a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InvalidPlan(path, "must be a finite number")
    return number


def _count(value: Any, path: str, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise InvalidPlan(path, "must be a whole number of 0 or more")
    if value > most:
        raise InvalidPlan(path, f"must be {most} or less")
    return value


def _prior(value: Any) -> Beta:
    weights = _list(value, "prior", 2)
    if len(weights) != 2:
        raise InvalidPlan("prior", "must have two numbers")
    for i, weight in enumerate(weights):
        if not LEAST_WEIGHT <= _number(weight, f"prior[{i}]") <= MOST_PRIOR:
            raise InvalidPlan(
                f"prior[{i}]", f"must be above 0 ({LEAST_WEIGHT} or more) and at most {MOST_PRIOR}"
            )
    return Beta(good=float(weights[0]), spoiled=float(weights[1]))


def _dated(value: Any, path: str, count_name: str, most: int) -> tuple[datetime.date, int]:
    fields = _fields(value, path, ("date", count_name))
    return _date(fields["date"], f"{path}.date"), _count(fields[count_name], f"{path}.{count_name}", most)


def _date(value: Any, path: str) -> datetime.date:
    if isinstance(value, str) and _DATE.fullmatch(value):
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise InvalidPlan(path, "is not a day of the calendar") from None
    raise InvalidPlan(path, "must be a date written like 2026-03-02")
