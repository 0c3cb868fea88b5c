"""Who is signed in, found again with one statement.

A phone sends many requests under one sign-in. The framework reads the session, then the account, and checks
the one against the other each time, which takes longer than storing an entry does. What it found is
remembered here together with the two rows it was found from, and holds while they read the same.
"""

from __future__ import annotations

import copy
from collections import OrderedDict
from dataclasses import dataclass
from functools import cache
from threading import Lock
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.models import Session
from django.db import connection
from django.utils import timezone

from continuity.people.models import Membership

REMEMBERED = 2000
"""Sign-ins remembered by one process; the one unused for longest goes first."""


@dataclass(frozen=True)
class _Found:
    rows: tuple[Any, ...]
    """The session's data and the account's columns, as the database gave them."""
    user: User


_found: OrderedDict[str, _Found] = OrderedDict()
_lock = Lock()


def recognise(session_key: str, production_id: UUID) -> tuple[User, Membership | None] | None:
    """The account of a sign-in and its place on a production, if it has one there. None when this sign-in is
    not remembered, has ended, or its account has changed: then it is to be looked into the long way."""
    with _lock:
        known = _found.get(session_key)
        if known is None:
            return None
        _found.move_to_end(session_key)
    rows, crew_id, role = _read(session_key, known.user.pk, production_id)
    if rows != known.rows:
        with _lock:
            _found.pop(session_key, None)
        return None
    user = copy.copy(known.user)
    if crew_id is None or role is None:
        return user, None
    crew_id = crew_id if isinstance(crew_id, UUID) else UUID(crew_id)
    return user, Membership(id=crew_id, production_id=production_id, user_id=user.pk, role=role, active=True)


def remember(session: SessionBase, user: User, production_id: UUID) -> None:
    """Remember a sign-in that has just been looked into the long way."""
    key = session.session_key
    if key is None:
        return
    rows, _, _ = _read(key, user.pk, production_id)
    if rows is None:
        return
    # Read once more after it was looked into: neither the session nor the account may have changed between.
    data, *account = rows
    names = [field.attname for field in User._meta.concrete_fields]
    same_account = dict(zip(names, account, strict=True))["password"] == user.password
    if same_account and user.is_active and session.decode(data) == dict(session.items()):
        with _lock:
            _found[key] = _Found(rows, user)
            while len(_found) > REMEMBERED:
                _found.popitem(last=False)


def _read(
    session_key: str, user_id: int, production_id: UUID
) -> tuple[tuple[Any, ...] | None, Any, str | None]:
    """The rows a sign-in rests on, None when it has ended; the id and role of its place on the production."""
    with connection.cursor() as cursor:
        cursor.execute(
            _statement(connection.vendor),
            [
                Membership._meta.get_field("production").get_db_prep_value(production_id, connection),
                user_id,
                session_key,
                Session._meta.get_field("expire_date").get_db_prep_value(timezone.now(), connection),
            ],
        )
        row = cursor.fetchone()
    if row is None:
        return None, None, None
    *rows, crew_id, role = row
    return tuple(rows), crew_id, role


@cache
def _statement(vendor: str) -> str:
    name = connection.ops.quote_name
    account = ", ".join(f"account.{name(field.column or '')}" for field in User._meta.concrete_fields)
    return (
        f"SELECT session.session_data, {account}, crew.id, crew.role"  # noqa: S608 - names of the code
        f" FROM {name(Session._meta.db_table)} session"
        f" CROSS JOIN {name(User._meta.db_table)} account"
        f" LEFT JOIN {name(Membership._meta.db_table)} crew"
        " ON crew.user_id = account.id AND crew.production_id = %s AND crew.active"
        " WHERE account.id = %s AND session.session_key = %s AND session.expire_date > %s"
    )
