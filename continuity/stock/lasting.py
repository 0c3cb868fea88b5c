"""Until when a material lasts: lots that are left and keep, against what the schedule is expected to use.

What is used on a day is taken from the lots that still keep on that day, the one that keeps shortest first. A
material lasts until the last day before the first on which that is not enough.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

NOTHING = Decimal(0)
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class LotLeft:
    """So much of a lot that is left, and the last day it keeps; None for one that keeps."""

    amount: Decimal
    keeps_until: datetime.date | None


@dataclass(frozen=True)
class Use:
    """So much is expected to be used on a day."""

    date: datetime.date
    amount: Decimal


@dataclass(frozen=True)
class Lasting:
    """``expected`` is all that is expected to be used and ``usable`` what is left and keeps today.
    ``first_day_short`` is None when all days are served; then ``until`` is None too. ``until`` is the day
    before it, today or later, or None when today is short already. ``spoils`` is what will be past its date
    before it is used.
    """

    usable: Decimal
    expected: Decimal
    until: datetime.date | None
    first_day_short: datetime.date | None
    spoils: Decimal


def how_long(lots: Iterable[LotLeft], uses: Sequence[Use], today: datetime.date) -> Lasting:
    """How long lots last from ``today`` on; a use before today is one of today."""
    keeping = [lot for lot in lots if lot.amount > 0 and _keeps(lot, today)]
    keeping.sort(key=lambda lot: lot.keeps_until or datetime.date.max)
    left = [lot.amount for lot in keeping]
    usable = sum(left, NOTHING)
    expected = sum((use.amount for use in uses), NOTHING)
    short: datetime.date | None = None
    for date, wanted in sorted((max(use.date, today), use.amount) for use in uses):
        for place, lot in enumerate(keeping):
            if _keeps(lot, date):
                taken = min(left[place], wanted)
                left[place] -= taken
                wanted -= taken
        if wanted > 0:
            short = date
            break
    until = short - _DAY if short and short > today else None
    last = max((use.date for use in uses), default=today)
    spoilt = [amount for lot, amount in zip(keeping, left, strict=True) if not _keeps(lot, last + _DAY)]
    return Lasting(usable, expected, until, short, sum(spoilt, NOTHING) if short is None else NOTHING)


def _keeps(lot: LotLeft, date: datetime.date) -> bool:
    return lot.keeps_until is None or lot.keeps_until >= date
