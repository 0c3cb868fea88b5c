"""Reading a plan from JSON text, strictly, and writing its cover and its order as JSON values.

The plan:

    {"target": 0.98, "prior": [a, b], "log": {"good": g, "spoiled": s}, "on_set": n,
     "arrivals": [{"date": "2026-03-02", "copies": n}], "days": [{"date": "2026-03-02", "copies_needed": k}]}

These fields have to be there; `arrivals` and `days` may be empty. Whatever is not expected is refused, so
that a misspelt field is not taken for a missing one. What may be added:

- `log.lost`: copies that went on well and were lost during the day, not counted in `good`.
- `on_set` as a list, `[{"copies": n, "use_by": "2026-03-20"}]`. `use_by` is the last day on which the copies
  may be put on; left out or null there is none. An entry of `arrivals` may have it too.
- `set_aside`: `[{"date": d, "copies_needed": k, "copies": n, "use_by": d}]`, copies kept for a scene of that
  day that asks for k of the day's copies.
- `mould`: `{"cavities": c, "cycles_per_day": n, "yield": {"good": g, "poured": p}, "prior": [a, b],
  "confidence": 0.9}`, all of it. Then `today` has to be there, `transport_days` (calendar days, 0 unless
  given) and `days_off` (dates and names of weekdays in English, none unless given) may be, and the answer has
  a `reorder`.
- `runs`: `[{"date": d, "poured": n, "use_by": d}]`, cast runs of that mould that are due and not yet poured.
"""

from __future__ import annotations

import codecs
import datetime
import json
import math
import re
from typing import Any

from continuity.cover.calculation import Cover
from continuity.cover.consumption import LEAST_WEIGHT, Beta, UsageLog
from continuity.cover.plan import (
    MOST_COPIES,
    Arrival,
    DatedCopies,
    InvalidPlan,
    Plan,
    PlannedDay,
    RunDue,
    SetAside,
    check_plan,
)
from continuity.cover.reorder import Reorder
from continuity.cover.shop import Mould, Shop, check_shop
from continuity.sync.strict_json import UnreadableJson, read_json

MOST_BYTES = 1_000_000
MOST_DAYS = 2_000
MOST_ARRIVALS = 2_000
MOST_COPIES_A_DAY = 1_000
MOST_LOGGED = 1_000_000
MOST_PRIOR = 1_000_000
MOST_LOTS = 2_000
MOST_CAVITIES = 1_000
MOST_CYCLES = 100
MOST_TRANSPORT_DAYS = 365
MOST_DAYS_OFF = 2_000

_WHOLE = "plan"
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_NEEDED = ("target", "prior", "log", "on_set", "arrivals", "days")
_ADDED = ("set_aside", "runs", "mould", "today", "transport_days", "days_off")


def read_plan_and_shop(text: bytes) -> tuple[Plan, Shop | None]:
    """The plan in `text` (JSON in UTF-8), and the shop with its mould if one is given. Raises InvalidPlan,
    naming the field, for anything else.
    """
    if len(text) > MOST_BYTES:
        raise InvalidPlan(_WHOLE, f"must be {MOST_BYTES} bytes or less")
    try:
        value = read_json(text.removeprefix(codecs.BOM_UTF8))
    except UnreadableJson as error:
        if error.member is not None:
            raise InvalidPlan(_shown(error.member), "is given twice in one place") from None
        why = str(error).rstrip(".")
        raise InvalidPlan(_WHOLE, f"cannot be read: {why[0].lower()}{why[1:]}") from None

    fields = _fields(value, "", _NEEDED, _ADDED)
    shop = _shop(fields)
    log = _fields(fields["log"], "log", ("good", "spoiled"), ("lost",))
    on_set, dated = _on_set(fields["on_set"])
    plan = Plan(
        target=_number(fields["target"], "target"),
        prior=_beta(fields["prior"], "prior"),
        log=UsageLog(
            good=_count(log["good"], "log.good", MOST_LOGGED),
            spoiled=_count(log["spoiled"], "log.spoiled", MOST_LOGGED),
            lost=_count(log.get("lost", 0), "log.lost", MOST_LOGGED),
        ),
        on_set=on_set,
        arrivals=tuple(
            Arrival(*_dated(value, f"arrivals[{i}]", "copies", MOST_COPIES), _use_by(value, f"arrivals[{i}]"))
            for i, value in enumerate(_list(fields["arrivals"], "arrivals", MOST_ARRIVALS))
        ),
        days=tuple(
            PlannedDay(*_dated(value, f"days[{i}]", "copies_needed", MOST_COPIES_A_DAY, use_by=False))
            for i, value in enumerate(_list(fields["days"], "days", MOST_DAYS))
        ),
        dated=dated,
        runs=_runs(fields.get("runs", []), shop),
        set_aside=tuple(
            _set_aside(value, f"set_aside[{i}]")
            for i, value in enumerate(_list(fields.get("set_aside", []), "set_aside", MOST_LOTS))
        ),
    )
    check_plan(plan)
    return plan, shop


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


def reorder_as_json(reorder: Reorder) -> dict[str, Any]:
    """The order as values that `json.dumps` takes."""
    return {
        "copies": reorder.copies,
        "pours": reorder.pours,
        "latest_start": reorder.latest_start.isoformat() if reorder.latest_start else None,
        "possible": reorder.possible,
        "best_p_covered": reorder.best_p_covered,
    }


def _shop(fields: dict[str, Any]) -> Shop | None:
    today = _date(fields["today"], "today") if "today" in fields else None
    transport_days = _count(fields.get("transport_days", 0), "transport_days", MOST_TRANSPORT_DAYS)
    dates, weekdays = set(), set()
    for i, value in enumerate(_list(fields.get("days_off", []), "days_off", MOST_DAYS_OFF)):
        if isinstance(value, str) and value.lower() in _WEEKDAYS:
            weekdays.add(_WEEKDAYS.index(value.lower()))
        elif isinstance(value, str) and value[:1].isalpha():
            raise InvalidPlan(f"days_off[{i}]", "must be a date or the name of a weekday, such as sunday")
        else:
            dates.add(_date(value, f"days_off[{i}]"))
    if "mould" not in fields:
        return None
    names = ("cavities", "cycles_per_day", "yield", "prior", "confidence")
    mould = _fields(fields["mould"], "mould", names)
    cast = _fields(mould["yield"], "mould.yield", ("good", "poured"))
    if today is None:
        raise InvalidPlan("today", "is missing, and the shop starts from it")
    shop = Shop(
        mould=Mould(
            cavities=_count(mould["cavities"], "mould.cavities", MOST_CAVITIES),
            cycles_per_day=_count(mould["cycles_per_day"], "mould.cycles_per_day", MOST_CYCLES),
            good=_count(cast["good"], "mould.yield.good", MOST_LOGGED),
            poured=_count(cast["poured"], "mould.yield.poured", MOST_LOGGED),
            prior=_beta(mould["prior"], "mould.prior"),
            confidence=_number(mould["confidence"], "mould.confidence"),
        ),
        today=today,
        transport_days=transport_days,
        days_off=frozenset(dates),
        weekdays_off=frozenset(weekdays),
    )
    check_shop(shop)
    return shop


def _on_set(value: Any) -> tuple[int, tuple[DatedCopies, ...]]:
    """Copies on set without a shelf date, and those with one."""
    if not isinstance(value, list):
        return _count(value, "on_set", MOST_COPIES, "a whole number of 0 or more, or a list"), ()
    plain, dated = 0, []
    for i, lot in enumerate(_list(value, "on_set", MOST_LOTS)):
        copies = _count(
            _fields(lot, f"on_set[{i}]", ("copies",), ("use_by",))["copies"],
            f"on_set[{i}].copies",
            MOST_COPIES,
        )
        use_by = _use_by(lot, f"on_set[{i}]")
        if use_by is None:
            plain += copies
        else:
            dated.append(DatedCopies(copies, use_by))
    return plain, tuple(dated)


def _runs(value: Any, shop: Shop | None) -> tuple[RunDue, ...]:
    runs = []
    for i, run in enumerate(_list(value, "runs", MOST_LOTS)):
        date, poured = _dated(run, f"runs[{i}]", "poured", MOST_COPIES)
        if shop is None:
            raise InvalidPlan("mould", "is missing, and the runs need its yield")
        runs.append(RunDue(date, poured, shop.mould.belief, use_by=_use_by(run, f"runs[{i}]")))
    return tuple(runs)


def _set_aside(value: Any, path: str) -> SetAside:
    fields = _fields(value, path, ("date", "copies_needed", "copies"), ("use_by",))
    return SetAside(
        date=_date(fields["date"], f"{path}.date"),
        copies_needed=_count(fields["copies_needed"], f"{path}.copies_needed", MOST_COPIES_A_DAY),
        copies=_count(fields["copies"], f"{path}.copies", MOST_COPIES),
        use_by=_use_by(value, path),
    )


def _use_by(fields: dict[str, Any], path: str) -> datetime.date | None:
    value = fields.get("use_by")
    return None if value is None else _date(value, f"{path}.use_by")


def _shown(name: str) -> str:
    """A field name from outside, fit for one line."""
    if re.fullmatch(r"[A-Za-z0-9_]{1,60}", name):
        return name
    return json.dumps(name if len(name) <= 60 else name[:60] + "…")


def _fields(value: Any, path: str, names: tuple[str, ...], may_have: tuple[str, ...] = ()) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise InvalidPlan(path or _WHOLE, f"must be an object with {', '.join(names)}")
    inside = f"{path}." if path else ""
    for name in value:
        if name not in names and name not in may_have:
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


def _count(value: Any, path: str, most: int, wanted: str = "a whole number of 0 or more") -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise InvalidPlan(path, f"must be {wanted}")
    if value > most:
        raise InvalidPlan(path, f"must be {most} or less")
    return value


def _beta(value: Any, path: str) -> Beta:
    weights = _list(value, path, 2)
    if len(weights) != 2:
        raise InvalidPlan(path, "must have two numbers")
    for i, weight in enumerate(weights):
        if not LEAST_WEIGHT <= _number(weight, f"{path}[{i}]") <= MOST_PRIOR:
            raise InvalidPlan(
                f"{path}[{i}]", f"must be above 0 ({LEAST_WEIGHT} or more) and at most {MOST_PRIOR}"
            )
    return Beta(good=float(weights[0]), spoiled=float(weights[1]))


def _dated(
    value: Any, path: str, count_name: str, most: int, *, use_by: bool = True
) -> tuple[datetime.date, int]:
    fields = _fields(value, path, ("date", count_name), ("use_by",) if use_by else ())
    return _date(fields["date"], f"{path}.date"), _count(fields[count_name], f"{path}.{count_name}", most)


def _date(value: Any, path: str) -> datetime.date:
    if isinstance(value, str) and _DATE.fullmatch(value):
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise InvalidPlan(path, "is not a day of the calendar") from None
    raise InvalidPlan(path, "must be a date written like 2026-03-02")
