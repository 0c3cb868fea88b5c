"""Measuring the colours that phones have asked for, one after the other, outside of every request.

A measurement waits until both photos have come and a rendition of each has been made: the worker that makes
them decodes what strangers send within bounds of its own, and what has passed there is decoded here without.
"""

from __future__ import annotations

import logging
import threading
from typing import Any
from uuid import UUID

import numpy as np
from django.db import transaction

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

logger = logging.getLogger(__name__)


class CannotBeMeasured(Exception):
    """Nothing of this photo can be measured; the message says why."""


def measure_all(stop: threading.Event) -> int:
    """Measure what there is to be measured, until nothing is left or `stop` is set. Returns how many were.

    Any number of workers may do this at once: the same photos and places give the same numbers.
    """
    done = 0
    for measurement in ColourMeasurement.objects.filter(state="awaiting", withdrawn=False).order_by("id"):
        if stop.is_set():
            break
        try:
            done += measure_one(measurement.id)
        except Exception:
            # A storage that is away now may be back at the next look.
            logger.exception("The measurement %s could not be made.", measurement.id)
    return done


def measure_one(measurement_id: UUID) -> bool:
    """Measure one, and tell every phone. False when a photo has not come yet, or the record has been changed
    meanwhile; then it is measured at another look."""
    record = Record.objects.get(id=measurement_id)
    document = document_of(record, ColourMeasurementDocument)
    files = [_file(record.production_id, photo) for photo in (document.then, document.now)]
    if any(file is None for file in files):
        return False
    production = Production.objects.get(id=record.production_id)
    bounds = Bounds(production.colour_not_visible, production.colour_close, production.colour_visible)
    try:
        readings = [
            _reading(document, which, photo, file)
            for which, photo, file in zip(("then", "now"), (document.then, document.now), files, strict=True)
            if file is not None
        ]
    except CannotBeMeasured as problem:
        told: dict[str, Any] = {**AWAITING, "state": "cannot_be_measured", "reasons": [str(problem)]}
    else:
        roles = {str(key): patch.role for key, patch in document.patches.items()}
        told = _told(readings[0], readings[1], compare(readings[0], readings[1], roles), bounds)
    with transaction.atomic():
        Production.objects.select_for_update().get(id=record.production_id)
        if Record.objects.get(id=measurement_id).revision_id != record.revision_id:
            return False
        ColourMeasurement.objects.filter(id=measurement_id).update(state=told["state"])
        restate_records(production_id=record.production_id, derived={measurement_id: {"colour": told}})
    return True


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
    if Photo.objects.filter(application_id=photo.application, file=file, moment=PhotoMoment.REMOVED).exists():
        raise CannotBeMeasured(f"{name} is of the skin after removal.")
    if file.renditions == "failed":
        raise CannotBeMeasured(f"{name} cannot be read: {file.reason}")
    try:
        picture = upright_srgb(open_original(file.production_id, file.sha256), file.media_type)
    except (Refusal, UnreadablePhoto) as problem:
        raise CannotBeMeasured(f"{name} cannot be read: {problem}") from None
    spots: dict[str, tuple[str, Spot]] = {
        str(key): (patch.name, patch.then if which == "then" else patch.now)
        for key, patch in document.patches.items()
    }
    codes = np.asarray(picture.convert("RGB"), dtype=np.uint8)
    return read_photo(codes, photo.card, spots, photo.align, 0 if which == "then" else 1)


def _told(then: Reading, now: Reading, found: Measurement, bounds: Bounds) -> dict[str, Any]:
    """What the phones are told: the shape of `AWAITING`, filled in. Where white is unknown, so is colour."""
    measured = not found.reasons
    contrast = found.contrast
    return {
        "state": "measured" if measured else "cannot_be_measured",
        "reasons": list(found.reasons),
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
