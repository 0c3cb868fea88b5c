"""Rows on their way into the tables, gathered so that many records are not many statements."""

from __future__ import annotations

from typing import Any

from django.db import models

Values = tuple[tuple[str, Any], ...]


class Rows:
    """What is to be inserted and changed. Nothing of it can be read from the database before `write`.

    Foreign keys are checked when the transaction ends, so the order in which tables are written is free.
    """

    def __init__(self) -> None:
        self._new: dict[type[models.Model], list[models.Model]] = {}
        self._values: dict[type[models.Model], dict[Any, Values]] = {}

    def add(self, *rows: models.Model) -> None:
        """Insert these."""
        for row in rows:
            self._new.setdefault(type(row), []).append(row)

    def change(self, model: type[models.Model], key: Any, **values: Any) -> None:
        """Give the row with this primary key these values, always the same columns for one model."""
        self._values.setdefault(model, {})[key] = tuple(sorted(values.items()))

    def write(self) -> None:
        """Send everything to the database. Raises `IntegrityError`."""
        new, self._new = self._new, {}
        changed, self._values = self._values, {}
        for model, rows in new.items():
            model._base_manager.bulk_create(rows)
        for model, values_by_key in changed.items():
            keys_by_values: dict[Values, list[Any]] = {}
            for key, values in values_by_key.items():
                keys_by_values.setdefault(values, []).append(key)
            for values, keys in keys_by_values.items():
                model._base_manager.filter(pk__in=keys).update(**dict(values))
