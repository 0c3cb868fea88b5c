"""What is said of a material in stock, in the way it is said of spares: so much, until when, short of
what."""

from __future__ import annotations

import datetime
from decimal import Decimal

from continuity.cover.order_words import day_in_words, percent
from continuity.shop.batch import decimal_of
from continuity.stock.documents import MaterialUnit
from continuity.stock.lasting import Lasting
from continuity.stock.taking import FEWEST, Taking

SOON = datetime.timedelta(days=14)
_UNITS = {MaterialUnit.GRAMS: "g", MaterialUnit.MILLILITRES: "ml"}
_LOOKED_AT: dict[MaterialUnit | None, tuple[str, str]] = {
    MaterialUnit.GRAMS: ("weighing", "weighings"),
    MaterialUnit.MILLILITRES: ("measurement", "measurements"),
    MaterialUnit.PIECES: ("count", "counts"),
}


def amount_words(amount: Decimal, unit: MaterialUnit | None) -> str:
    """Such as "120 g", "4.5 ml" and "1 piece"."""
    shown = f"{float(round(amount, 1)):g}"
    if unit is MaterialUnit.PIECES:
        return f"{shown} piece{'' if shown == '1' else 's'}"
    return f"{shown} {_UNITS[unit]}" if unit else shown


def stock_words(
    lasting: Lasting | None, low_below: Decimal | None, unit: MaterialUnit | None, today: datetime.date
) -> str:
    """One sentence or two. ``low_below`` is given when less than that is left."""
    if lasting is None:
        return "Not counted: what is left is not known."
    left = amount_words(lasting.usable, unit)
    if lasting.first_day_short is not None:
        wanted = f"{amount_words(lasting.expected, unit)} expected to be used"
        if lasting.first_day_short <= today:
            said = f"Short today: {left} left, {wanted}."
        else:
            until = lasting.until or today
            said = f"Lasts until {day_in_words(until)}: {left} left, {wanted}."
    elif lasting.expected:
        said = f"Lasts for all that is planned: {left} left, {amount_words(lasting.expected, unit)} expected."
    else:
        said = f"{left} left; nothing planned is known to use it."
    if low_below is not None:
        said = f"Running low, under {amount_words(low_below, unit)}. {said}"
    if lasting.spoils:
        said += f" {amount_words(lasting.spoils, unit)} will be past its date before it is used."
    return said


def sure_words(sure: float | None, taking: Taking | None, periods: int, unit: MaterialUnit | None) -> str:
    """How sure it is that it lasts for all that is planned, and by what; or why nobody can say."""
    one, many = _LOOKED_AT.get(unit, _LOOKED_AT[MaterialUnit.GRAMS])
    if sure is not None and taking is not None:
        return (
            f"{percent(sure)} sure to the end of what is planned, by {taking.periods} {many}: "
            f"{amount_words(decimal_of(taking.mean), unit)} an application."
        )
    if periods < FEWEST:
        there = f"there is 1 {one}" if periods == 1 else f"there are {periods or 'no'} {many}"
        return f"How sure that is cannot be told yet: it takes {FEWEST}, and {there} of what was left."
    return f"How sure that is cannot be told: the {many} are all alike."


def lot_words(
    left: Decimal | None, keeps_until: datetime.date | None, unit: MaterialUnit | None, today: datetime.date
) -> str | None:
    """What to see to about one lot; None for nothing."""
    if left is not None and left < 0:
        return f"{amount_words(-left, unit)} more written down than there was: weigh what is left."
    if left == 0:
        return "Used up."
    if keeps_until is not None and keeps_until < today:
        return f"Past its date, {day_in_words(keeps_until)}: not to be used."
    if keeps_until is not None and keeps_until <= today + SOON:
        return f"Keeps until {day_in_words(keeps_until)}."
    return None
