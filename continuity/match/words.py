"""What a difference of colour is called."""

from __future__ import annotations

from dataclasses import dataclass

NOT_VISIBLE, CLOSE, VISIBLE, WRONG = "not_visible", "close", "visible", "wrong"


@dataclass(frozen=True)
class Bounds:
    """The CIEDE2000 up to which each word holds. Where they lie is common practice, no source; every
    production sets its own."""

    not_visible: float = 1.0
    close: float = 2.0
    visible: float = 4.0


def word_for(difference: float, bounds: Bounds) -> str:
    """ "not_visible", "close", "visible" (side by side) or "wrong", for a CIEDE2000."""
    if difference <= bounds.not_visible:
        return NOT_VISIBLE
    if difference <= bounds.close:
        return CLOSE
    return VISIBLE if difference <= bounds.visible else WRONG
