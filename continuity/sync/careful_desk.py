"""The slower way to take entries in: one by one, where one of a push turns out not to fit."""

from __future__ import annotations

from django.db import IntegrityError, transaction

from continuity.sync.desk import Desk, HalfDone, collided
from continuity.sync.entry import SentEntry
from continuity.sync.entry_result import EntryResult, refused
from continuity.sync.refusal import Refusal


class CarefulDesk(Desk):
    """Writes each entry by itself, so that one that is refused half-way is undone and leaves the others."""

    def accept(self, sent: SentEntry) -> EntryResult:
        try:
            with transaction.atomic():
                result = super().accept(sent)
                self.write()
                return result
        except HalfDone as half_done:
            return self._undone(sent, half_done.refusal)
        except IntegrityError:
            # A constraint has the last word on what a check could not foresee.
            return self._undone(sent, collided())

    def _undone(self, sent: SentEntry, refusal: Refusal) -> EntryResult:
        self.known_entries.pop(sent.id, None)
        self._forget()
        return refused(sent.id, refusal)
