"""Grades of copies: a higher one may stand in for a lower one, never the other way.

Common practice, no source.
"""

from __future__ import annotations

from enum import StrEnum


class Grade(StrEnum):
    HERO = "hero"
    MID = "mid"
    BACKGROUND = "background"


_RANK = {Grade.HERO: 2, Grade.MID: 1, Grade.BACKGROUND: 0}


def grade_serves(copy: Grade, wanted: Grade) -> bool:
    """Whether a copy of grade ``copy`` may be used where ``wanted`` is asked for."""
    return _RANK[copy] >= _RANK[wanted]
