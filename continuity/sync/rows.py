"""Rows on their way into the tables, gathered so that many records are not many statements."""

from __future__ import annotations

from typing import Any

from django.db import models

from continuity.sync.statements import insert_rows, update_rows


class Rows:
    """What is to be inserted and changed. Nothing of it can be read from the database before `write`.

    Foreign keys are checked when the transaction ends, so the order in which tables are written is free.
    """

    def __init__(self) -> None:
        self._new: dict[type[models.Model], list[models.Model]] = {}
        self._values: dict[type[models.Model], dict[Any, dict[str, Any]]] = {}

    def add(self, *rows: models.Model) -> None:
        """Insert these."""
        for row in rows:
            self._new.setdefault(type(row), []).append(row)

    def change(self, model: type[models.Model], key: Any, **values: Any) -> None:
        """Give the row with this primary key these values, by their attributes' names (``look_id``, not
        ``look``), always the same ones for one model."""
        self._values.setdefault(model, {})[key] = values

    def write(self) -> None:
        """Send everything to the database. Raises `IntegrityError`."""
        new, self._new = self._new, {}
        changed, self._values = self._values, {}
        for model, rows in new.items():
            insert_rows(model, rows)
        for model, values_by_key in changed.items():
            names = tuple(sorted(next(iter(values_by_key.values()))))
            update_rows(
                model,
                names,
                {key: [values[name] for name in names] for key, values in values_by_key.items()},
            )
