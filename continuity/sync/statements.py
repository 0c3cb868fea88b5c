"""The few statements that every push sends, each put together once.

The framework's query builder makes a statement anew each time it is used. For these, which are run while a
production's feed is locked and everybody else waits, that takes several times as long as running them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any, TypeVar

from django.db import DEFAULT_DB_ALIAS, connection, connections, models

Row = TypeVar("Row", bound=models.Model)
Converter = Callable[[Any, Any, Any], Any]

AT_ONCE = 500
"""Parameters of one statement; SQLite's own bound is higher on every version that Python comes with."""


def rows_where(model: type[Row], condition: str, parameters: Sequence[Any] = ()) -> list[Row]:
    """The rows that meet a condition in SQL, written here in the code and never made from what was sent.
    ``parameters`` stand for its ``%s``, in the form the database takes them (see `key_of`)."""
    start, converted = _selection(model, connection.vendor)
    names = [field.attname for field in model._meta.concrete_fields]
    database = connections[DEFAULT_DB_ALIAS]
    with database.cursor() as cursor:
        cursor.execute(f"{start} WHERE {condition}", parameters)
        found = cursor.fetchall()
    rows = []
    for values in found:
        values = list(values)
        for position, expression, converters in converted:
            for convert in converters:
                values[position] = convert(values[position], expression, database)
        rows.append(model.from_db(database.alias, names, values))
    return rows


def key_of(model: type[models.Model], key: Any) -> Any:
    """A primary key as a parameter of `rows_where`."""
    return _primary_key(model).get_db_prep_value(key, connection)


def rows_with_keys(model: type[Row], keys: Iterable[Any]) -> list[Row]:
    """The rows with these primary keys, in no order."""
    column = connection.ops.quote_name(_primary_key(model).column)
    rows: list[Row] = []
    keys = list(keys)
    for first in range(0, len(keys), AT_ONCE):
        some = keys[first : first + AT_ONCE]
        places = ", ".join(["%s"] * len(some))
        rows += rows_where(model, f"{column} IN ({places})", [key_of(model, key) for key in some])
    return rows


def insert_rows(model: type[models.Model], rows: Sequence[models.Model]) -> None:
    """Insert these. Keys that the database gives are not read back. Raises `IntegrityError`."""
    statement, fields = _insertion(model, connection.vendor)
    database = connections[DEFAULT_DB_ALIAS]
    with database.cursor() as cursor:
        cursor.executemany(
            statement,
            [
                [field.get_db_prep_save(getattr(row, field.attname), database) for field in fields]
                for row in rows
            ],
        )
    for row in rows:
        row._state.adding, row._state.db = False, database.alias


def update_rows(
    model: type[models.Model], attributes: tuple[str, ...], values: Mapping[Any, Sequence[Any]]
) -> None:
    """Give the rows with these primary keys these values, in the order of ``attributes``. Raises
    `IntegrityError`."""
    statement, fields = _change(model, attributes, connection.vendor)
    with connection.cursor() as cursor:
        cursor.executemany(
            statement,
            [
                [
                    *(
                        field.get_db_prep_save(value, connection)
                        for field, value in zip(fields, given, strict=True)
                    ),
                    key_of(model, key),
                ]
                for key, given in values.items()
            ],
        )


def _primary_key(model: type[models.Model]) -> Any:
    return model._meta.pk


def _name(text: str | None) -> str:
    quoted: str = connection.ops.quote_name(text or "")
    return quoted


@cache
def _selection(
    model: type[models.Model], vendor: str
) -> tuple[str, list[tuple[int, Any, Sequence[Converter]]]]:
    fields = model._meta.concrete_fields
    converted: list[tuple[int, Any, Sequence[Converter]]] = []
    for position, field in enumerate(fields):
        expression = field.get_col(model._meta.db_table)
        converters = [
            *connection.ops.get_db_converters(expression),
            *expression.get_db_converters(connection),
        ]
        if converters:
            converted.append((position, expression, converters))
    columns = ", ".join(_name(field.column) for field in fields)
    return f"SELECT {columns} FROM {_name(model._meta.db_table)}", converted  # noqa: S608 - names of the code


@cache
def _insertion(model: type[models.Model], vendor: str) -> tuple[str, list[Any]]:
    fields = [field for field in model._meta.local_concrete_fields if not isinstance(field, models.AutoField)]
    columns = ", ".join(_name(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    return f"INSERT INTO {_name(model._meta.db_table)} ({columns}) VALUES ({places})", fields  # noqa: S608


@cache
def _change(model: type[models.Model], attributes: tuple[str, ...], vendor: str) -> tuple[str, list[Any]]:
    by_name: dict[str, Any] = {field.attname: field for field in model._meta.local_concrete_fields}
    fields = [by_name[name] for name in attributes]
    settings = ", ".join(f"{_name(field.column)} = %s" for field in fields)
    key = _name(_primary_key(model).column)
    return f"UPDATE {_name(model._meta.db_table)} SET {settings} WHERE {key} = %s", fields  # noqa: S608
