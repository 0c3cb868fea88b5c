"""Covers, their reasons and the changes to try out, as they are sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any
from uuid import UUID

from api import shapes
from continuity.cover.covers import ApplianceCover
from continuity.cover.grades import GradedCover
from continuity.cover.reasons import Reasons
from continuity.cover.reorder import Reorder
from continuity.cover.what_if import AddShootDay, Change, LoseCopies, MoveShootDay, Reshoot, Target


def cover_shape(found: ApplianceCover, orders: Mapping[str, UUID]) -> dict[str, Any]:
    """An appliance's cover; ``orders`` are those that stand open, by appliance."""
    plan, cover = found.plan, found.cover
    pooled = plan.pooling
    prior = [pooled.prior.good, pooled.prior.spoiled]
    return {
        "appliance": found.appliance_id,
        "spares_now": found.spares_now,
        "on_set": plan.on_set,
        "in_transit": plan.in_transit,
        "due": plan.due,
        "undated": plan.undated,
        "set_aside": plan.set_aside,
        "log": {"good": found.log.good, "spoiled": found.log.spoiled, "lost": found.log.lost},
        "rests_on": plan.estimate.rests_on,
        "rates": {
            "success": plan.estimate.success_rate,
            "spoiled": plan.estimate.spoiled_rate,
            "lost": plan.estimate.lost_rate,
        },
        "prior": prior,
        "pooling": {"source": pooled.source.value, "explanation": pooled.explanation, "prior": prior},
        "p_covered": cover.p_covered,
        "exact": found.exact,
        "left_out": cover.left_out,
        "until": plan.until,
        "grades": _grades(found),
        "first_day_at_risk": cover.first_day_at_risk,
        "reorder": None if found.reorder is None else _reorder(found.reorder),
        "order": orders.get(found.appliance_id),
        "days": _days(found),
    }


def _days(found: ApplianceCover) -> list[dict[str, Any]]:
    """What comes between two shoot days is there for the second of them."""
    arriving = sorted(found.arriving.items())
    days, next_one = [], 0
    for day in found.cover.days:
        arrivals = 0
        while next_one < len(arriving) and arriving[next_one][0] <= day.date:
            arrivals += arriving[next_one][1]
            next_one += 1
        days.append(
            {
                "date": day.date,
                "applications": found.applications.get(day.date, 0),
                "copies_needed": found.needed.get(day.date, 0),
                "arrivals": arrivals,
                "expected_left": day.expected_left,
                "left_p10": day.left_p10,
                "left_p90": day.left_p90,
                "p_short_by": day.p_short_by,
            }
        )
    return days


def _grades(found: ApplianceCover) -> list[dict[str, Any]] | None:
    if not isinstance(found.cover, GradedCover):
        return None
    at_the_end = found.cover.days[-1].p_short_by_grade if found.cover.days else {}
    return [{"grade": grade, "p_short_by_end": at_the_end.get(grade, 0.0)} for grade in found.plan.grades]


def _reorder(reorder: Reorder) -> dict[str, Any]:
    return {
        "copies": reorder.copies,
        "pours": reorder.pours,
        "latest_start": reorder.latest_start,
        "possible": reorder.possible,
        "best_p_covered": reorder.best_p_covered,
        "still_short": reorder.still_short,
        "schedule": [{"date": day.date, "pours": day.pours} for day in reorder.schedule],
    }


def reasons_shape(reasons: Reasons) -> dict[str, Any]:
    """What the numbers of an appliance's cover rest on."""
    return {
        "answer": "cover_reasons",
        "extra": asdict(reasons.extra),
        "days": [
            {
                "date": date,
                "applications": [
                    {
                        "performer": planned.performer_id,
                        "look": planned.look_id,
                        "scenes": list(planned.scene_ids),
                        "why": planned.reason.value,
                        "copies": planned.copies,
                        "starts_at": planned.starts_at,
                        "ends_at": planned.ends_at,
                    }
                    for planned in applications
                ],
            }
            for date, applications in reasons.days.items()
        ],
        "log": [{**asdict(line), "why": line.why or None} for line in reasons.log],
        "supply": [asdict(line) for line in reasons.supply],
        "fixes": [
            {
                "remedy": fix.remedy.value,
                "enough": fix.enough,
                "p_covered": fix.p_covered,
                "copies": fix.copies,
                "moved": fix.moved,
                "to": fix.to,
                "words": words,
            }
            for fix, words in reasons.fixes
        ],
    }


def change_of(asked: shapes.ChangeAsked) -> Change:
    """A change to try out, from what was sent."""
    match asked:
        case shapes.MoveShootDayShape():
            return MoveShootDay(str(asked.shoot_day), asked.date)
        case shapes.AddShootDayShape():
            scenes = tuple(str(scene) for scene in asked.scenes)
            hours = _minutes(asked.crew_call), _minutes(asked.wrap)
            return AddShootDay(asked.date, str(asked.unit), *hours, scenes)
        case shapes.ReshootShape():
            return Reshoot(str(asked.scene), asked.date)
        case shapes.LoseCopiesShape():
            return LoseCopies(str(asked.appliance), asked.copies)
        case shapes.TargetShape():
            return Target(asked.target)


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)
