"""The cover of a production's appliances, from what its tables hold."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from uuid import UUID

from continuity.cover.covers import ApplianceCover, covers_of
from continuity.cover.facts import read_facts, today_of

__all__ = ["ApplianceCover", "cover_of_appliances", "cover_of_production", "today_of"]


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
