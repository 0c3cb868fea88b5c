"""Reading JSON that strangers send: what a database could not store is refused here, with a sentence."""

from __future__ import annotations

import json
from typing import Any, NoReturn

MAXIMUM_DEPTH = 30


class UnreadableJson(ValueError):
    """The text is not JSON that can be stored; the message says why. ``member`` is one given twice."""

    def __init__(self, message: str, *, member: str | None = None) -> None:
        self.member = member
        super().__init__(message)


def read_json(raw: bytes) -> Any:
    """The value in ``raw``. Raises `UnreadableJson` for what a JSON column could not give back unchanged:
    text that is not UTF-8, NaN and infinities, NUL, lone surrogates, duplicate members, deep nesting."""
    try:
        value = json.loads(
            raw.decode("utf-8"), parse_constant=_refuse_constant, object_pairs_hook=_without_duplicates
        )
    except UnicodeDecodeError:
        raise UnreadableJson("The text is not UTF-8.") from None
    except RecursionError:
        raise UnreadableJson("The JSON is nested too deeply.") from None
    except UnreadableJson:
        raise
    except ValueError as error:
        raise UnreadableJson(f"This is not JSON: {error}.") from None
    _check(value, MAXIMUM_DEPTH)
    return value


def _refuse_constant(name: str) -> NoReturn:
    raise UnreadableJson(f"{name} is not a number in JSON.")


def _without_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise UnreadableJson("An object names the same member twice.", member=name)
        found[name] = value
    return found


def _check(value: Any, depth: int) -> None:
    if depth == 0:
        raise UnreadableJson("The JSON is nested too deeply.")
    if isinstance(value, str):
        _check_text(value)
    elif isinstance(value, dict):
        for name, member in value.items():
            _check_text(name)
            _check(member, depth - 1)
    elif isinstance(value, list):
        for member in value:
            _check(member, depth - 1)
    elif isinstance(value, float) and value in (float("inf"), float("-inf")):
        raise UnreadableJson("A number is too large.")


def _check_text(text: str) -> None:
    if "\x00" in text:
        raise UnreadableJson("A text contains a NUL character.")
    if not text.isascii():
        try:
            text.encode("utf-8")
        except UnicodeEncodeError:
            raise UnreadableJson("A text contains half a character (a lone surrogate).") from None
