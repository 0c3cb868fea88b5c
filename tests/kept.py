"""What a builder has made, kept to be put into the database again for every test that begins from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from http.cookies import SimpleCookie

from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper

from tests.builders import Account, Phone, Show

# A value as it is written in SQL.
LITERAL = {"sqlite": "quote({})", "postgresql": "quote_nullable({}::text)"}


@dataclass(frozen=True)
class Rows:
    """All rows of all tables, but for those that migrations fill: one statement for each table."""

    statements: tuple[str, ...]

    @classmethod
    def of_the_database(cls) -> Rows:
        filled = {model._meta.db_table for model in (ContentType, Permission)}
        tables = (
            set(connection.introspection.django_table_names(only_existing=True, include_views=False)) - filled
        )
        with connection.cursor() as cursor:
            return cls(tuple(filter(None, (_insert(cursor, table) for table in tables))))

    def put_back(self) -> None:
        """Into the empty database of a test. What a row refers to may come after it: keys are checked at the
        end of the transaction."""
        with transaction.atomic(), connection.cursor() as cursor:
            for statement in self.statements:
                cursor.execute(statement)


def _insert(cursor: CursorWrapper, table: str) -> str:
    """Nothing where there is nothing in it."""
    quoted = connection.ops.quote_name
    columns = [quoted(each.name) for each in connection.introspection.get_table_description(cursor, table)]
    literals = ", ".join(LITERAL[connection.vendor].format(column) for column in columns)
    cursor.execute(f"SELECT {literals} FROM {quoted(table)}")
    rows = ", ".join(f"({', '.join(row)})" for row in cursor.fetchall())
    return rows and f"INSERT INTO {quoted(table)} ({', '.join(columns)}) VALUES {rows}"


@dataclass(frozen=True)
class KeptShow:
    """A show and its rows."""

    show: Show
    rows: Rows

    @classmethod
    def of(cls, make: Callable[[], Show]) -> KeptShow:
        """Made in the empty database, which is empty afterwards."""
        with transaction.atomic():
            kept = cls(make(), Rows.of_the_database())
            transaction.set_rollback(True)
        return kept

    def again(self) -> Show:
        """The show in the database of this test, its phones signed in as they were."""
        self.rows.put_back()
        return replace(
            self.show,
            head=_another(self.show.head),
            set_artist=_another(self.show.set_artist),
            continuity=_another(self.show.continuity),
            shop=_another(self.show.shop),
            copies=list(self.show.copies),
        )


def _another(phone: Phone) -> Phone:
    account = Account()
    account.client.cookies = SimpleCookie(phone.account.client.cookies.output(header=""))
    return replace(phone, account=account)
