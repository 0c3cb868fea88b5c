"""How long something takes, in words: the same ones on paper, in messages and on the phone
(`minutesWords` of the front end)."""

from __future__ import annotations

import math


def minutes_in_words(minutes: float) -> str:
    """Such as "48 min", "1 h 26 min" and "2 h 05 min"."""
    # Half a minute goes up, as on the phone.
    whole = math.floor(minutes + 0.5)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min"
