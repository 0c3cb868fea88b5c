"""How verdicts, guides and measurements become tables, and who may write them."""

from __future__ import annotations

from typing import Any, cast

from continuity.applications.documents import ApplicationDocument
from continuity.match import models
from continuity.match.documents import (
    ColourMeasurementDocument,
    MeasuredPhoto,
    PhotoGuideDocument,
    VerdictDocument,
)
from continuity.people.documents import Role
from continuity.photos.documents import PhotoMoment
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import Aftermath, RecordKind, Written, register
from continuity.sync.write import write_row

DECIDERS = frozenset({Role.CONTINUITY, Role.DEPARTMENT_HEAD})
LOOKERS = DECIDERS | {Role.SET_ARTIST}

AWAITING: dict[str, Any] = {
    "state": "awaiting",
    "reasons": [],
    "may_pass": False,
    "cautions": [],
    "then": {"patches": {}},
    "now": {"patches": {}},
    "patches": {},
    "contrast": None,
}
"""What is said of a measurement that has not been made yet."""


def write_verdict(written: Written) -> Aftermath:
    """Raises `Refusal` for a pin in a photo of bare skin after removal, which not everybody may see."""
    document = cast(VerdictDocument, written.document)
    for pin in document.pins.values():
        for application in filter(None, (document.application, document.against)):
            _refuse_bare_skin(written.others.document(ApplicationDocument, application), pin.sha256, "pins")
    write_row(
        models.Verdict,
        written,
        application_id=document.application,
        against_id=document.against,
        verdict=document.verdict.value,
    )
    return Aftermath()


def write_photo_guide(written: Written) -> Aftermath:
    document = cast(PhotoGuideDocument, written.document)
    write_row(models.PhotoGuide, written, sha256=document.sha256)
    return Aftermath()


def write_colour_measurement(written: Written) -> Aftermath:
    """The measuring is done later, by `manage.py measure_colour`; an edit has it done again.

    Raises `Refusal` for a photo that is not on its sheet, or is of bare skin after removal: its colour would
    tell of the performer's health.
    """
    document = cast(ColourMeasurementDocument, written.document)
    for name, photo in (("then", document.then), ("now", document.now)):
        _check_photo(written, photo, name)
    write_row(
        models.ColourMeasurement,
        written,
        look_id=document.look,
        then_application_id=document.then.application,
        now_application_id=document.now.application,
        then_sha256=document.then.sha256,
        now_sha256=document.now.sha256,
    )
    return Aftermath(derived={"colour": AWAITING})


def _check_photo(written: Written, photo: MeasuredPhoto, name: str) -> None:
    sheet = written.others.document(ApplicationDocument, photo.application)
    if all(other.sha256 != photo.sha256 for other in sheet.photos.values()):
        raise Refusal(Code.unknown_reference, "This photo is not on that sheet.", field=f"{name}.sha256")
    _refuse_bare_skin(sheet, photo.sha256, f"{name}.sha256")


def _refuse_bare_skin(sheet: ApplicationDocument, sha256: str, field: str) -> None:
    if any(photo.sha256 == sha256 and photo.moment == PhotoMoment.REMOVED for photo in sheet.photos.values()):
        raise Refusal(
            Code.not_allowed, "A photo of the skin after removal is not what a match is about.", field=field
        )


register(RecordKind("verdict", VerdictDocument, DECIDERS, write_verdict))
register(RecordKind("photo_guide", PhotoGuideDocument, LOOKERS, write_photo_guide))
register(RecordKind("colour_measurement", ColourMeasurementDocument, LOOKERS, write_colour_measurement))
