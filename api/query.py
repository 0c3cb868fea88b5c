"""Reading what stands behind the question mark of an address; each raises `Refusal` (not_a_request)."""

from __future__ import annotations

import math
import re
from enum import StrEnum
from typing import TypeVar
from uuid import UUID

from rest_framework.request import Request

from continuity.sync.refusal import Code, Refusal

Choice = TypeVar("Choice", bound=StrEnum)
_NUMBER = re.compile(r"-?\d{1,12}(\.\d{1,12})?", re.ASCII)
_WHOLE_NUMBER = re.compile(r"\d{1,19}", re.ASCII)
_ID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}", re.ASCII)


def number(request: Request, name: str, default: float | None, lowest: float, highest: float) -> float:
    """A number within bounds; without one the default, or a refusal where there is none."""
    text = request.query_params.get(name)
    if text is None and default is not None:
        return default
    if text is None:
        raise Refusal(Code.not_a_request, f"{name} is missing.", field=name)
    value = float(text) if _NUMBER.fullmatch(text) else math.nan
    if not lowest <= value <= highest:
        raise Refusal(
            Code.not_a_request, f"{name} is not a number from {lowest:g} to {highest:g}.", field=name
        )
    return value


def whole_number(request: Request, name: str, default: int, lowest: int, highest: int) -> int:
    """A whole number within bounds; without one the default."""
    text = request.query_params.get(name)
    if text is None:
        return default
    if not _WHOLE_NUMBER.fullmatch(text) or not lowest <= int(text) <= highest:
        raise Refusal(
            Code.not_a_request, f"{name} is not a whole number from {lowest} to {highest}.", field=name
        )
    return int(text)


def choice(request: Request, name: str, choices: type[Choice], default: str = "") -> Choice:
    """One of a few words; without one the default."""
    text = request.query_params.get(name, default)
    try:
        return choices(text)
    except ValueError:
        known = ", ".join(each.value for each in choices)
        raise Refusal(Code.not_a_request, f"{name} is none of {known}.", field=name) from None


def ids(request: Request, name: str, most: int) -> list[UUID]:
    """Ids with commas between, each once, in the order given; at least one and at most so many."""
    texts = request.query_params.get(name, "").split(",")
    if not 0 < len(texts) <= most or not all(_ID.fullmatch(text) for text in texts):
        raise Refusal(
            Code.not_a_request,
            f"{name} is not a list of ids with commas between, {most} at most.",
            field=name,
        )
    return list(dict.fromkeys(UUID(text) for text in texts))


def an_id(request: Request, name: str) -> UUID | None:
    """An id; None without one."""
    text = request.query_params.get(name)
    if text is None:
        return None
    if not _ID.fullmatch(text):
        raise Refusal(Code.not_a_request, f"{name} is not an id.", field=name)
    return UUID(text)
