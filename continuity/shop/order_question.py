"""What is asked of the shop when the cover wants something else than an order it is at. No database."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from continuity.shop.documents import OrderDocument, OrderQuestion

NO_MORE_NEEDED = "The cover is at its target without more copies."


@dataclass(frozen=True)
class Progress:
    """What there is of an order that is under way: copies ``made``, entered since it was taken on, and
    ``due``, those planned in cast runs that have no result yet."""

    made: int = 0
    due: int = 0


def with_question(
    order: OrderDocument, wanted: OrderDocument | None, progress: Progress, now: datetime.datetime
) -> OrderDocument:
    """The order with what is to be asked of the shop, if anything.

    ``wanted`` is what the cover asks for beside what is made and due, as if this order were not there; None
    when it asks for nothing. More copies, fewer, or an earlier day are a question; a later day is none, and
    fewer are not asked for while a run's result is awaited. The same is not asked twice, whatever the shop
    has answered, and a question that is no longer needed is withdrawn.
    """
    copies, needed_on = _in_all(order, wanted, progress), order.needed_on
    if wanted is not None and wanted.needed_on < needed_on:
        needed_on = wanted.needed_on
    asked = order.question
    if (copies, needed_on) == (order.copies, order.needed_on):
        return order.model_copy(update={"question": None, "answer": None})
    if asked is not None and (asked.copies, asked.needed_on) == (copies, needed_on):
        return order
    question = OrderQuestion(
        copies=copies,
        # Of an order that is half made, the pours that are left say nothing of the whole.
        pours=wanted.pours if wanted is not None and progress == Progress() else None,
        needed_on=needed_on,
        latest_start=wanted.latest_start if wanted is not None else order.latest_start,
        why=wanted.why if wanted is not None else NO_MORE_NEEDED,
        asked_at=now,
    )
    return order.model_copy(update={"question": question, "answer": None})


def _in_all(order: OrderDocument, wanted: OrderDocument | None, progress: Progress) -> int:
    """The copies the order should be of, as far as can be told now."""
    needed = progress.made + (wanted.copies if wanted is not None else 0)
    # As many of the copies due will be good as the order reckons with.
    good = progress.due * order.copies // order.pours if order.pours else progress.due
    if wanted is not None and needed > order.copies:
        return needed + good
    if progress.due or needed >= order.copies:
        return order.copies
    return needed
