"""What was said of an order so far: each change dated, and by whom. Read from its entries; no Django."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from continuity.sync.merge import apply_merge_patch

SAID = ("state", "copies", "needed_on", "question", "answer", "withdrawn")
"""What is worth a line. The chances and the sentence about the cover move with every application."""


@dataclass(frozen=True)
class Written:
    """One entry of an order, in the order they were applied. ``by_server`` says that no phone sent it."""

    at: datetime.datetime
    by: UUID
    by_server: bool
    patch: Mapping[str, Any]
    withdrawal: str


@dataclass(frozen=True)
class Change:
    """One line of an order's history. ``by`` is who said it, None for the cover calculation. ``state``,
    ``copies`` and ``needed_on`` are there where they are new; ``asked`` is a question's copies, 0 where it is
    whether to call the order off; ``answer`` is the shop's."""

    at: datetime.datetime
    by: UUID | None
    state: str | None = None
    copies: int | None = None
    needed_on: datetime.date | None = None
    asked: int | None = None
    answer: str | None = None


def history_of(entries: Iterable[Written]) -> list[Change]:
    """The changes that people hear of, the oldest first."""
    document: dict[str, Any] = {}
    changes: list[Change] = []
    for entry in entries:
        before, document = document, apply_merge_patch(document, dict(entry.patch))
        if entry.withdrawal:
            document = {**document, "withdrawn": True}
        if any(before.get(name) != document.get(name) for name in SAID):
            changes.append(_change(entry, before, document))
    return changes


def _change(entry: Written, before: Mapping[str, Any], after: Mapping[str, Any]) -> Change:
    def new(name: str) -> Any:
        return after.get(name) if after.get(name) != before.get(name) else None

    day, question = new("needed_on"), new("question")
    answer = new("answer")
    # Agreed to, the server brings the numbers in and the question goes: that is the shop's doing too.
    brought_in = before.get("answer") == "agreed" and "question" not in after
    state = "called_off" if after.get("withdrawn") else (new("state") or (None if before else "asked_for"))
    of_a_person = not entry.by_server or brought_in or state in {"sent", "arrived"}
    return Change(
        at=entry.at,
        by=entry.by if of_a_person else None,
        state=state,
        copies=new("copies"),
        needed_on=datetime.date.fromisoformat(day) if day else None,
        asked=question["copies"] if question else None,
        answer=answer,
    )
