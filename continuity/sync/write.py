"""Turning a plain document into a plain row: the part of writing that is the same for most kinds."""

from __future__ import annotations

from typing import Any, TypeVar

from continuity.sync.base import ProductionRecord
from continuity.sync.refusal import Refusal
from continuity.sync.registry import Written

Row = TypeVar("Row", bound=ProductionRecord)


def keep_apart(model: type[ProductionRecord], written: Written, refusal: Refusal, **same: Any) -> None:
    """Raises the refusal where another record of the production stands that has the same of these columns."""
    others = model._default_manager.filter(production_id=written.production_id, withdrawn=False, **same)
    if not written.withdrawn and others.exclude(id=written.record_id).exists():
        raise refusal


def write_row(model: type[Row], written: Written, **columns: Any) -> Row:
    """Insert or update the row of a record, and return it."""
    row = model(
        id=written.record_id, production_id=written.production_id, withdrawn=written.withdrawn, **columns
    )
    if written.before is None:
        row.save(force_insert=True)
    else:
        row.save(force_update=True)
    return row
