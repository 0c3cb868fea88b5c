"""Making the renditions of the photos that have come, one after the other, outside of every request.

The table of files is the queue: what is stored and not yet made is to be made. A worker claims a file for
longer than making it can take; if it is killed meanwhile, the claim runs out and another worker begins anew.
The small and the large rendition of every file come first, since people wait for them, and the full ones
when nothing else is to be made.
"""

from __future__ import annotations

import datetime
import logging
import threading

from django.db.models import F, Q
from django.utils import timezone

from continuity.photos.decoding import Decoder, DecoderDied
from continuity.photos.keeping import GONE, keep, read_original
from continuity.photos.models import PhotoFile
from continuity.photos.pictures import UnreadablePhoto
from continuity.photos.services import mark

CLAIM = datetime.timedelta(minutes=3)
"""More than the time a decoder has for a picture, and a slow bucket to take it."""

STORAGE_AWAY = datetime.timedelta(minutes=1)
"""After which a file is tried again that the storage did not give or take."""

ATTEMPTS = 3
"""A file that was begun so often has killed the worker, or its decoder, each time. Once may be the doing of
somebody else, who stops the server and with it these."""

logger = logging.getLogger(__name__)


def prepare_all(stop: threading.Event, decoder: Decoder | None = None) -> int:
    """Make what there is to be made, until nothing is left or `stop` is set. Returns how many files were made
    something of, or found unreadable. Any number of workers may do this at once."""
    done = 0
    with decoder or Decoder() as ours:
        while not stop.is_set():
            file = _claim()
            if file is None:
                break
            try:
                done += _prepare(file, ours)
            except Exception:
                # Storage that is away now may be back later: no fault of the picture.
                logger.exception("Photo %s could not be prepared.", file)
                PhotoFile.objects.filter(id=file.id, claimed_until=file.claimed_until).update(
                    claimed_until=timezone.now() + STORAGE_AWAY, attempts=F("attempts") - 1
                )
    return done


def _claim() -> PhotoFile | None:
    """The next file, now this worker's."""
    while True:
        now = timezone.now()
        free = PhotoFile.objects.filter(Q(claimed_until=None) | Q(claimed_until__lt=now), state="stored")
        file = (
            free.filter(renditions="to_be_made").order_by("stored_at", "id").first()
            or free.filter(renditions="made", full="to_be_made").order_by("stored_at", "id").first()
        )
        if file is None:
            return None
        was, file.claimed_until = file.claimed_until, now + CLAIM
        # Whoever else has seen it free has another end of the claim in mind: one of the two changes the row.
        if free.filter(id=file.id, claimed_until=was, renditions=file.renditions, full=file.full).update(
            claimed_until=file.claimed_until, attempts=F("attempts") + 1
        ):
            return file


def _prepare(file: PhotoFile, decoder: Decoder) -> bool:
    """Whether something came of it, good or bad."""
    making = "renditions" if file.renditions == "to_be_made" else "full"
    try:
        if file.attempts >= ATTEMPTS:
            raise UnreadablePhoto("The server stopped each time it looked at it.")
        original = read_original(file)
        found: dict[str, object] = {}
        if making == "renditions":
            made = decoder.renditions(original.content, original.media_type)
            keep(file, "small", made.small)
            keep(file, "large", made.large)
            found = {"width": made.width, "height": made.height}
            if original.as_sent:
                found["not_measurable"] = made.not_measurable
        else:
            keep(file, "full", decoder.full(original.content, original.media_type))
        found |= {making: "made", "attempts": 0}
    except DecoderDied as died:
        if file.attempts + 1 < ATTEMPTS:
            mark(file, claimed=file.claimed_until, claimed_until=None)
            return False
        found = {making: "failed", "reason": str(died)}
    except UnreadablePhoto as unreadable:
        found = {making: "failed", "reason": str(unreadable)[:200]}
    except FileNotFoundError:
        found = {making: "failed", "reason": GONE}
    mark(file, claimed=file.claimed_until, claimed_until=None, **found)
    return True
