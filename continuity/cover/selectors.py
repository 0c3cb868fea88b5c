"""The cover of a production's appliances, from what its tables hold."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from uuid import UUID

from continuity.cover.covers import ApplianceCover, covers_of
from continuity.cover.facts import read_facts, read_log, read_units
from continuity.cover.reasons import Reasons, reasons_of
from continuity.cover.what_if import Change, what_if
from continuity.sync.refusal import Code, Refusal


def cover_of_production(production_id: UUID, *, today: datetime.date | None = None) -> list[ApplianceCover]:
    """The cover of every appliance from ``today`` on, by the appliance's name.

    A planned application that is logged already for today asks for no copies any more.
    """
    return covers_of(read_facts(production_id, today=today))


def cover_of_appliances(
    production_id: UUID, appliance_ids: Collection[UUID], *, today: datetime.date | None = None
) -> list[ApplianceCover]:
    """The same for some appliances only: those that one new application touches, say. What bears on no other
    is not read. The others' covers may have moved too, as all learn from each other's logs.
    """
    facts = read_facts(production_id, today=today, appliance_ids=appliance_ids)
    return covers_of(facts, {str(appliance) for appliance in appliance_ids})


@dataclass(frozen=True)
class CoverIf:
    """Every appliance as it stands and as it would be; ``words`` is one sentence for each change."""

    today: list[ApplianceCover]
    then: list[ApplianceCover]
    words: tuple[str, ...]


def cover_if(production_id: UUID, changes: Sequence[Change]) -> CoverIf:
    """What the cover would be after these changes, one after another. Nothing is stored.

    Raises `Refusal` for a change that cannot be made (`what_if.what_if`).
    """
    facts = read_facts(production_id)
    then, words = what_if(facts, changes, read_units(production_id, facts.today))
    today = covers_of(facts)
    return CoverIf(today, covers_of(then, before=today), words)


def reasons_of_appliance(production_id: UUID, appliance_id: UUID) -> Reasons:
    """What the cover of one appliance rests on. Raises `Refusal` (not_found)."""
    facts = read_facts(production_id, appliance_ids=[appliance_id])
    covers = covers_of(facts)
    found = next((each for each in covers if each.appliance_id == str(appliance_id)), None)
    if found is None:
        raise Refusal(Code.not_found, "There is no such appliance.")
    return reasons_of(found, facts, covers, read_log(production_id, appliance_id))
