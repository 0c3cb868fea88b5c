"""Turning a plain document into a plain row: the part of writing that is the same for most kinds."""

from __future__ import annotations

from typing import Any, TypeVar

from continuity.sync.base import ProductionRecord
from continuity.sync.registry import Written

Row = TypeVar("Row", bound=ProductionRecord)


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
