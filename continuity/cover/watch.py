"""Looking every few seconds whether a production's orders are to be worked out again."""

from __future__ import annotations

import logging
import traceback
from uuid import UUID

from continuity.cover.services import reconsider_orders, to_be_reconsidered
from continuity.schedule.models import Production

logger = logging.getLogger(__name__)


def look_once() -> int:
    """One look at every production. Returns how many orders were written. What is wrong with one production
    is logged and does not keep the others from theirs; it is tried again at the next look.
    """
    written = 0
    for production in Production.objects.order_by("id"):
        try:
            if to_be_reconsidered(production):
                written += reconsider_orders(production.id)
        except Exception:
            _say_once(production.id)
    return written


_said: dict[UUID, str] = {}


def _say_once(production_id: UUID) -> None:
    """A fault that stays is not written to the log every few seconds."""
    fault = traceback.format_exc()
    if _said.get(production_id) != fault:
        _said[production_id] = fault
        logger.exception("The orders of production %s could not be worked out.", production_id)
