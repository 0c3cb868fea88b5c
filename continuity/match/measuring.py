"""Measuring the colours that phones have asked for, one after the other, outside of every request.

A measurement waits until both photos have come and a rendition of each has been made: the worker that makes
them decodes what strangers send within bounds of its own, and what has passed there is decoded here without.

A photo that cannot be read for a reason that may pass (the storage is away, the file is gone from it, nothing
could be made of it) is said at once, and the measurement is tried again by itself: after a minute, and then
after as long again as it has failed, half an hour at the most, for a week. One over which the process ends is
left alone for some minutes, so that it holds up no other, and given up after three times. An edit of the
record begins anew.
"""

from __future__ import annotations

import datetime
import logging
import threading
from dataclasses import replace
from typing import Any
from uuid import UUID

import numpy as np
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from continuity.match.documents import ColourMeasurementDocument, MeasuredPhoto, Spot
from continuity.match.measure import Measurement, Reading, compare, read_photo
from continuity.match.models import ColourMeasurement
from continuity.match.records import AWAITING
from continuity.match.words import Bounds, word_for
from continuity.photos.documents import PhotoMoment
from continuity.photos.models import Photo, PhotoFile
from continuity.photos.pictures import UnreadablePhoto, upright_srgb
from continuity.photos.services import open_original
from continuity.schedule.models import Production
from continuity.sync.models import Record
from continuity.sync.refusal import Refusal
from continuity.sync.selectors import document_of
from continuity.sync.services import restate_records

PLACES = 3
"""Decimal places told."""

BEGINNINGS = 3
"""A measurement that was begun so often, and never came to an end, has ended the process each time."""

LEFT_ALONE = datetime.timedelta(minutes=3)
"""More than a measuring takes; for so long one that was begun is not begun again."""

SHORTEST_WAIT, LONGEST_WAIT = datetime.timedelta(minutes=1), datetime.timedelta(minutes=30)
GIVEN_UP = datetime.timedelta(days=7)
"""After which a photo that cannot be read is not waited for any longer."""

NOT_AS_SENT = "the file that the phone sent is gone, and a copy was measured that was made of it"

logger = logging.getLogger(__name__)


class CannotBeMeasured(Exception):
    """Nothing of this photo can be measured; the message says why."""


class NotNow(CannotBeMeasured):
    """It cannot be read now, and may be later."""


class Stopped(CannotBeMeasured):
    """Nobody knows what of it cannot be measured; it is left to somebody to try again."""


def measure_all(stop: threading.Event) -> int:
    """Measure what there is to be measured, until nothing is left or `stop` is set. Returns of how many
    something new could be told.

    Any number of workers may do this at once: the same photos and places give the same numbers.
    """
    done = 0
    due = Q(next_at=None) | Q(next_at__lte=timezone.now())
    awaiting = ColourMeasurement.objects.filter(due, state="awaiting", withdrawn=False)
    for measurement_id in list(awaiting.order_by("id").values_list("id", flat=True)):
        if stop.is_set():
            break
        try:
            done += measure_one(measurement_id)
        except Exception:
            # It is left alone for a while, as one over which the process ends.
            logger.exception("The measurement %s could not be made.", measurement_id)
    return done


def measure_one(measurement_id: UUID) -> bool:
    """Measure one, and tell every phone. False when a photo has not come yet, the record has been changed
    meanwhile, or there is nothing to be told that was not told before; then there is another look."""
    record = Record.objects.get(id=measurement_id)
    document = document_of(record, ColourMeasurementDocument)
    files = [_file(record.production_id, photo) for photo in (document.then, document.now)]
    if any(file is None for file in files):
        return False
    rows = ColourMeasurement.objects.filter(id=measurement_id)
    rows.update(beginnings=F("beginnings") + 1, next_at=timezone.now() + LEFT_ALONE)
    row = rows.get()
    production = Production.objects.get(id=record.production_id)
    bounds = Bounds(production.colour_not_visible, production.colour_close, production.colour_visible)
    state: dict[str, Any] = {"beginnings": 0, "failing_since": None, "next_at": None}
    try:
        if row.beginnings > BEGINNINGS:
            raise Stopped("The server stopped each time it began to measure it.")
        readings = [
            _reading(document, which, photo, file)
            for which, photo, file in zip(("then", "now"), (document.then, document.now), files, strict=True)
            if file is not None
        ]
    except CannotBeMeasured as problem:
        told: dict[str, Any] = {**AWAITING, "state": "cannot_be_measured", "reasons": [str(problem)]}
        told["may_pass"] = isinstance(problem, NotNow | Stopped)
        since = row.failing_since or timezone.now()
        if isinstance(problem, NotNow) and timezone.now() - since < GIVEN_UP:
            told["reasons"].append("It is tried again by itself.")
            state |= {"state": "awaiting", "failing_since": since, "next_at": timezone.now() + _wait(since)}
    else:
        roles = {str(key): patch.role for key, patch in document.patches.items()}
        told = _told(readings[0], readings[1], compare(readings[0], readings[1], roles), bounds)
    with transaction.atomic():
        Production.objects.select_for_update().get(id=record.production_id)
        now = Record.objects.get(id=measurement_id)
        if now.revision_id != record.revision_id:
            rows.update(beginnings=0, next_at=None)
            return False
        rows.update(**{"state": told["state"], **state})
        if now.derived.get("colour") == told:
            return False
        restate_records(production_id=record.production_id, derived={measurement_id: {"colour": told}})
    return True


def _wait(since: datetime.datetime) -> datetime.timedelta:
    """How long a measurement that has failed since then is left alone."""
    return min(max(timezone.now() - since, SHORTEST_WAIT), LONGEST_WAIT)


def _file(production_id: UUID, photo: MeasuredPhoto) -> PhotoFile | None:
    """The photo's file, once it has come and has been looked at."""
    return (
        PhotoFile.objects.filter(production_id=production_id, sha256=photo.sha256, state="stored")
        .exclude(renditions="to_be_made")
        .first()
    )


def _reading(
    document: ColourMeasurementDocument, which: str, photo: MeasuredPhoto, file: PhotoFile
) -> Reading:
    name = "The established photo" if which == "then" else "Today's photo"
    if Photo.objects.filter(file=file, moment=PhotoMoment.REMOVED).exists():
        raise CannotBeMeasured(f"{name} is of the skin after removal.")
    if file.renditions == "failed":
        # Somebody may have it tried again by hand.
        raise NotNow(f"{name} cannot be read: {file.reason}")
    try:
        original = open_original(file.production_id, file.sha256)
    except Refusal as problem:
        raise NotNow(f"{name} cannot be read: {problem}") from None
    try:
        picture, not_measurable = upright_srgb(original.content, original.media_type)
    except UnreadablePhoto as problem:
        raise CannotBeMeasured(f"{name} cannot be read: {problem}") from None
    spots: dict[str, tuple[str, Spot]] = {
        str(key): (patch.name, patch.then if which == "then" else patch.now)
        for key, patch in document.patches.items()
    }
    codes = np.asarray(picture.convert("RGB"), dtype=np.uint8)
    reading = read_photo(codes, photo.card, spots, photo.align, 0 if which == "then" else 1)
    if not original.as_sent:
        # A copy does not tell any more how its original was coded; what was made of that at first does.
        not_measurable = file.not_measurable
        reading = replace(reading, cautions=(*reading.cautions, NOT_AS_SENT))
    return replace(reading, reasons=(f"it {not_measurable}", *reading.reasons)) if not_measurable else reading


def _told(then: Reading, now: Reading, found: Measurement, bounds: Bounds) -> dict[str, Any]:
    """What the phones are told: the shape of `AWAITING`, filled in. Where white is unknown, so is colour."""
    measured = not found.reasons
    contrast = found.contrast
    return {
        "state": "measured" if measured else "cannot_be_measured",
        "reasons": list(found.reasons),
        "may_pass": False,
        "cautions": list(found.cautions),
        "then": {"patches": _colours(then) if measured else {}},
        "now": {"patches": _colours(now) if measured else {}},
        "patches": {
            key: {
                "delta_e": round(difference.delta_e, PLACES),
                "uncertainty": round(difference.uncertainty, PLACES),
                "words": word_for(difference.delta_e, bounds),
            }
            for key, difference in found.differences.items()
        },
        "contrast": contrast
        and {
            "then": round(contrast.then, PLACES),
            "now": round(contrast.now, PLACES),
            "change": round(contrast.change, PLACES),
            "shift": round(contrast.shift, PLACES),
            "uncertainty": round(contrast.uncertainty, PLACES),
            "words": word_for(contrast.shift, bounds),
        },
    }


def _colours(reading: Reading) -> dict[str, Any]:
    return {
        key: {
            "lab": [round(float(value), PLACES) for value in colour.lab],
            "spread": round(reading.spreads[key], PLACES),
        }
        for key, colour in reading.colours.items()
    }
