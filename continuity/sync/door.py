"""Where pushes to one production wait for each other, and are taken in together."""

from __future__ import annotations

import fcntl
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from uuid import UUID

from django.conf import settings
from django.db import IntegrityError, OperationalError, connection, transaction

from continuity.people.models import Membership
from continuity.sync.careful_desk import CarefulDesk
from continuity.sync.desk import Desk, HalfDone
from continuity.sync.entry import SentEntry
from continuity.sync.entry_result import EntryResult

AT_ONE_SITTING = 100
"""Entries of several pushes that are taken in together, at most; a larger push is taken in by itself."""


@dataclass(eq=False)
class Push:
    """What a device sends at a time: entries, and the refusals of what could not be read as one. Then what
    became of it: a result for each, or the fault for which nothing of it is stored."""

    sender: Membership
    device: UUID
    read: Sequence[SentEntry | EntryResult]
    results: list[EntryResult] = field(default_factory=list)
    fault: Exception | None = None
    done: bool = False

    def entries(self) -> Iterator[SentEntry]:
        return (entry for entry in self.read if isinstance(entry, SentEntry))


class Door:
    """Only one transaction at a time can write a production's feed, and it costs far more than an entry does.
    So who comes in takes along whoever else waits by then, and one transaction stores it all."""

    def __init__(self, production_id: UUID) -> None:
        self.production_id = production_id
        self._waiting: list[Push] = []
        self._list = threading.Lock()
        self._inside = threading.Lock()

    def bring(self, push: Push) -> None:
        """Returns when the push is done, by this thread or by another."""
        with self._list:
            self._waiting.append(push)
        with self._inside:
            if not push.done:
                with one_process_at_a_time():
                    take_in(self.production_id, self._who_comes_along(push))

    def _who_comes_along(self, push: Push) -> list[Push]:
        together, room = [push], AT_ONE_SITTING - len(push.read)
        with self._list:
            for other in self._waiting:
                if other is not push and len(other.read) <= room:
                    together.append(other)
                    room -= len(other.read)
            self._waiting = [other for other in self._waiting if other not in together]
        return together


@contextmanager
def one_process_at_a_time() -> Iterator[None]:
    """Wait for the server's other processes too. A writer that SQLite makes wait sleeps longer and longer,
    and others pass it meanwhile; a lock on a file wakes it at once, as PostgreSQL's own lock does. Inside a
    transaction it is too late: whoever stands at the door would wait for that, and that for the door."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    with open(settings.DATA_DIR / "door", "w") as door:
        fcntl.flock(door, fcntl.LOCK_EX)
        yield


_doors: dict[UUID, Door] = {}
_doors_lock = threading.Lock()


def bring_in(production_id: UUID, push: Push) -> None:
    """Take in a push, together with others if there are any. Raises what kept it from being stored."""
    if connection.in_atomic_block:
        # The caller's transaction is for nobody else's entries.
        take_in(production_id, [push])
    else:
        with _doors_lock:
            door = _doors.setdefault(production_id, Door(production_id))
        door.bring(push)
    if push.fault:
        raise push.fault


def take_in(production_id: UUID, pushes: Sequence[Push]) -> None:
    """Store what these pushes bring, in one transaction if that can be done, each by itself if not."""
    try:
        try:
            _sit(Desk, production_id, pushes)
        except (HalfDone, IntegrityError):
            if len(pushes) > 1:
                raise
            _sit(CarefulDesk, production_id, pushes)
    except OperationalError as fault:
        _give_up(pushes, fault)
    except Exception as fault:
        if len(pushes) == 1:
            _give_up(pushes, fault)
        else:
            # Whatever is wrong with one of them is not the others' fault.
            for push in pushes:
                take_in(production_id, [push])


def _sit(desk_type: type[Desk], production_id: UUID, pushes: Sequence[Push]) -> None:
    results = []
    with transaction.atomic():
        desk = desk_type(production_id)
        desk.look_up(entry for push in pushes for entry in push.entries())
        for push in pushes:
            desk.turn_to(push.sender, push.device)
            results.append(
                [desk.accept(entry) if isinstance(entry, SentEntry) else entry for entry in push.read]
            )
        desk.finish()
    # Only now is it committed.
    for push, found in zip(pushes, results, strict=True):
        push.results, push.done = found, True


def _give_up(pushes: Sequence[Push], fault: Exception) -> None:
    for push in pushes:
        push.fault, push.done = fault, True
