"""Queries that are put together once and then only run.

The framework's query builder makes a statement anew each time it is used, and a model's converters are called
for every value of every row. For the dozen queries behind a cover, which is worked out again after every
application, that took several times as long as the database itself.
"""

from __future__ import annotations

import datetime
import functools
import json
from collections.abc import Callable, Collection, Sequence
from typing import Any
from uuid import UUID, uuid4

from django.db import DEFAULT_DB_ALIAS, connections, models

Given = UUID | str | datetime.date | Collection[UUID] | Collection[str] | None
Converter = Callable[[Any], Any]

_KEY = models.UUIDField()


class Statement:
    """A query and its parameters: ids, dates, or lists of ids that are not empty. `build` makes the query
    from them, and may leave out what is None; it must use each value whole, as it comes.
    """

    def __init__(self, build: Callable[..., models.QuerySet[Any, Any]]) -> None:
        self._build = build
        # One text for each shape: which parameters there are, and how long the lists.
        self._put_together = functools.lru_cache(maxsize=64)(self._put_together_anew)

    def rows(self, *given: Given) -> list[tuple[Any, ...]]:
        """The rows, with every id as text."""
        database = connections[DEFAULT_DB_ALIAS]
        shape = tuple(_shape(value) for value in given)
        text, constants, places, converters = self._put_together(database.vendor, shape)
        values = [_prepared(value) for value in _flat(given)]
        parameters = [
            constant if place is None else values[place]
            for constant, place in zip(constants, places, strict=True)
        ]
        with database.cursor() as cursor:
            cursor.execute(text, parameters)
            rows = cursor.fetchall()
        if not rows:
            return []
        columns = list(zip(*rows, strict=True))
        for at, convert in converters:
            # A column has few different values and many rows.
            known = {value: convert(value) for value in set(columns[at]) if value is not None}
            columns[at] = tuple(map(known.get, columns[at]))
        return list(zip(*columns, strict=True))

    def _put_together_anew(
        self, vendor: str, shape: tuple[Any, ...]
    ) -> tuple[str, Sequence[Any], Sequence[int | None], Sequence[tuple[int, Converter]]]:
        # Values that nothing else in the statement can be, so that each is found again among its parameters.
        given = [_stand_in(at, each) for at, each in enumerate(shape)]
        at = {_prepared(value): place for place, value in enumerate(_flat(given))}
        compiler = self._build(*given).query.get_compiler(DEFAULT_DB_ALIAS)
        text, constants = compiler.as_sql()
        places = [at.get(constant) if _can_be_given(constant) else None for constant in constants]
        database = connections[DEFAULT_DB_ALIAS]
        converters: list[tuple[int, Converter]] = []
        for column, (expression, _, _) in enumerate(compiler.select):
            field = expression.output_field
            if isinstance(field, models.ForeignKey):
                field = field.target_field
            if isinstance(field, models.UUIDField):
                converters.append(
                    (column, _id_as_text if database.features.has_native_uuid_field else _dashed)
                )
            elif isinstance(field, models.JSONField):
                converters.append((column, json.loads))
            else:
                for convert in (
                    *database.ops.get_db_converters(expression),
                    *expression.get_db_converters(database),
                ):
                    converters.append((column, functools.partial(_converted, convert, expression)))
        return text, constants, places, converters


def _shape(value: Given) -> Any:
    if value is None or isinstance(value, datetime.date):
        return None if value is None else "date"
    return "id" if isinstance(value, UUID | str) else len(value)


def _stand_in(at: int, shape: Any) -> Given:
    if shape is None:
        return None
    if shape == "date":
        return datetime.date(1, 1, 1 + at)
    return uuid4() if shape == "id" else [uuid4() for _ in range(shape)]


def _flat(given: Sequence[Given]) -> list[UUID | str | datetime.date | None]:
    flat: list[UUID | str | datetime.date | None] = []
    for value in given:
        if value is None or isinstance(value, UUID | str | datetime.date):
            flat.append(value)
        else:
            flat.extend(value)
    return flat


def _prepared(value: UUID | str | datetime.date | None) -> Any:
    database = connections[DEFAULT_DB_ALIAS]
    if value is None:
        return None
    if isinstance(value, datetime.date):
        return database.ops.adapt_datefield_value(value)
    return _KEY.get_db_prep_value(value, database)


def _can_be_given(constant: Any) -> bool:
    return isinstance(constant, str | UUID | datetime.date)


def _converted(convert: Any, expression: Any, value: Any) -> Any:
    return convert(value, expression, connections[DEFAULT_DB_ALIAS])


def _id_as_text(value: UUID) -> str:
    return str(value)


def _dashed(value: str) -> str:
    return f"{value[:8]}-{value[8:12]}-{value[12:16]}-{value[16:20]}-{value[20:]}"
