"""Why an order is there, in one sentence."""

from __future__ import annotations

import datetime
import math

from continuity.cover.covers import ApplianceCover


def why_ordered(found: ApplianceCover) -> str:
    """Such as "Covers 9 planned applications up to 14 March 2026 at 98 %; without it 3 spares for 5 copies
    needed by 12 March 2026 are sure to 61 %; log: 34 good, 3 spoiled and 2 lost on set."
    """
    at_risk = found.cover.first_day_at_risk or max(found.needed)
    needed = sum(copies for date, copies in found.needed.items() if date <= at_risk)
    coming = sum(copies for date, copies in found.arriving.items() if date <= at_risk)
    spares = counted(found.spares_now, "spare", "spares")
    if coming:
        spares += f" and {coming} coming"
    planned = counted(sum(found.applications.values()), "planned application", "planned applications")
    reach = f"{planned} up to {day_in_words(max(found.applications))}"
    target = percent(found.plan.target)
    if found.reorder is None or found.reorder.possible:
        covers = f"Covers {reach} at {target}"
    else:
        best = percent(found.reorder.best_p_covered)
        covers = f"What can be made in time of {reach}: {best} at best where {target} are wanted"
    return (
        f"{covers}; without it {spares} for {counted(needed, 'copy', 'copies')} needed by "
        f"{day_in_words(at_risk)} are sure to {percent(found.cover.p_covered)}; "
        f"log: {found.plan.estimate.rests_on}."
    )


def day_in_words(date: datetime.date) -> str:
    """Such as "2 March 2026"."""
    return f"{date.day} {date:%B %Y}"


def percent(chance: float) -> str:
    """A chance in per cent, with the digits it takes to tell it from 0 and from 100; never rounded up."""
    for digits in (0, 1, 2):
        shown = math.floor(chance * 100 * 10**digits + 1e-9) / 10**digits
        if 0 < shown < 100 or chance in (0.0, 1.0):
            # Close to 100 the last per cent is what counts.
            if shown >= 99 and digits == 0 and chance < 1:
                continue
            return f"{shown:.{digits}f} %"
    return "less than 0.01 %" if chance < 0.5 else "more than 99.99 %"


def counted(number: int, one: str, many: str) -> str:
    """Such as "1 copy" and "2 copies"."""
    return f"{number} {one if number == 1 else many}"
