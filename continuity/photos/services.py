"""Photos' files: expected from a record's manifest, received in pieces, kept once under their sha256."""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import logging
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from continuity.photos import documents
from continuity.photos.keeping import (
    Original,
    can_be_made,
    keep,
    partial_path,
    read_original,
    taking_from_storage,
    write_piece,
)
from continuity.photos.models import Photo, PhotoFile
from continuity.schedule.models import Production
from continuity.sync.door import one_process_at_a_time
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.services import restate_records

MAXIMUM_PIECE = 1_048_576

logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class FileStatus:
    """How far a file has come, and the renditions of it; ``received`` in bytes."""

    state: str
    received: int
    renditions: str
    reason: str


def expect_photos(application: Any, photos: Mapping[UUID, documents.Photo]) -> None:
    """Write an application's photos down, and expect the files its manifest names."""
    Photo.objects.filter(application=application).delete()
    if not photos:
        return
    production_id = application.production_id
    known = {
        file.sha256: file
        for file in PhotoFile.objects.filter(
            production_id=production_id, sha256__in=[photo.sha256 for photo in photos.values()]
        )
    }
    for photo in photos.values():
        if photo.sha256 not in known:
            known[photo.sha256] = PhotoFile.objects.create(
                production_id=production_id,
                sha256=photo.sha256,
                size=photo.size,
                media_type=photo.media_type,
            )
    Photo.objects.bulk_create(
        Photo(
            application=application,
            item=item,
            file=known[photo.sha256],
            angle=photo.angle,
            moment=photo.moment,
            scene_id=photo.scene,
            story_day=photo.story_day,
            taken_at=photo.taken_at,
        )
        for item, photo in photos.items()
    )


def told_of_files(production_id: UUID, photos: Iterable[documents.Photo]) -> dict[str, dict[str, str]]:
    """What a sheet tells of its photos, by sha256. "files": whether each is in, "awaited", "stored", or
    "unreadable" where it is stored and nothing can be made of it. "not_measurable": why no colour can be
    measured in it, for those where none can."""
    wanted = [photo.sha256 for photo in photos]
    if not wanted:
        return {"files": {}, "not_measurable": {}}
    files = PhotoFile.objects.filter(production_id=production_id, sha256__in=wanted)
    return {
        "files": {file.sha256: _shown_state(file) for file in files},
        "not_measurable": {file.sha256: file.not_measurable for file in files if file.not_measurable},
    }


def file_status(*, production_id: UUID, sha256: str) -> FileStatus:
    """How much of a file has come. Raises `Refusal` (not_expected) when no record names it."""
    return _status(_expected(production_id, sha256))


def receive_piece(*, production_id: UUID, sha256: str, offset: int, total: int, piece: bytes) -> FileStatus:
    """Take the next piece of a file; with the last one check it and keep it. Nothing is decoded here.

    Raises `Refusal`: not_expected, wrong_offset (ask how much has come and go on from there),
    hash_mismatch (start over), server_busy (the storage does not take it; the same again later).
    """
    with one_process_at_a_time(), transaction.atomic():
        file = (
            PhotoFile.objects.select_for_update().filter(production_id=production_id, sha256=sha256).first()
        )
        if file is None:
            raise Refusal(Code.not_expected, "No record that has come in names this file.")
        if file.state == "stored":
            return _status(file)
        if total != file.size:
            raise Refusal(
                Code.not_a_request,
                f"The record says {file.size} bytes, the file {total}.",
                field="Content-Range",
            )
        if offset != file.received or offset + len(piece) > file.size:
            raise Refusal(Code.wrong_offset, f"{file.received} bytes have come.", field=str(file.received))
        with _putting_away():
            write_piece(partial_path(production_id, sha256), offset, piece)
        whole = offset + len(piece) == file.size
        # The last piece counts once the file is stored: a server that stops before that asks for it again.
        if not whole:
            file.received += len(piece)
            file.save(update_fields=["received"])
    if whole:
        _store(file)
    return file_status(production_id=production_id, sha256=sha256)


def try_again(*, production_id: UUID, sha256: str) -> FileStatus:
    """Have renditions that failed made once more, by somebody's wish. A file that is gone from the storage,
    with all it could be made from, is awaited again: a phone may still have it. Raises `Refusal`:
    not_expected; server_busy when the storage does not answer."""
    file = _expected(production_id, sha256)
    if file.state == "stored":
        with taking_from_storage():
            is_gone = not can_be_made(file)
        if is_gone or "failed" in {file.renditions, file.full}:
            gone = {"state": "awaited", "received": 0, "stored_at": None} if is_gone else {}
            made = {"renditions": "to_be_made", "full": "to_be_made", "reason": "", "attempts": 0}
            mark(file, claimed_until=None, **made, **gone)
    return file_status(production_id=production_id, sha256=sha256)


def make_again(file: PhotoFile, rendition: str) -> None:
    """Have what was made of a photo, and is gone from the storage, made once more by the worker. If what it
    was made from is gone too, the worker says so of the photo."""
    mark(file, **{"full" if rendition == "full" else "renditions": "to_be_made"})


def open_original(production_id: UUID, sha256: str) -> Original:
    """The bytes the phone sent, or what is closest to them; never to be served. Raises `Refusal`: not_found
    when they have not come, or are gone from the storage; server_busy when the storage does not answer."""
    file = PhotoFile.objects.filter(production_id=production_id, sha256=sha256, state="stored").first()
    if file is None:
        raise Refusal(Code.not_found, "There is no such photo.")
    with taking_from_storage():
        return read_original(file)


def mark(file: PhotoFile, *, claimed: Any = None, **columns: Any) -> None:
    """Write down what has become of a file, and tell every phone where that changes what a record shows.

    With ``claimed`` (the claim's end), only if nobody else has claimed it since.
    """
    with one_process_at_a_time(), transaction.atomic():
        # Two photos of one sheet may be in at once; neither may write over what the other said of it.
        Production.objects.select_for_update().get(id=file.production_id)
        rows = PhotoFile.objects.filter(id=file.id)
        before = rows.get()
        if not (rows.filter(claimed_until=claimed) if claimed else rows).update(**columns):
            return
        now = rows.get()
        if (_shown_state(now), now.not_measurable) == (_shown_state(before), before.not_measurable):
            return
        shown_in = Photo.objects.filter(file=file).values_list("application_id", flat=True)
        derived = {}
        for record in Record.objects.filter(id__in=set(shown_in)):
            why = {**record.derived.get("not_measurable", {}), file.sha256: now.not_measurable}
            derived[record.id] = {
                "files": {**record.derived.get("files", {}), file.sha256: _shown_state(now)},
                "not_measurable": {sha256: words for sha256, words in why.items() if words},
            }
        restate_records(production_id=file.production_id, derived=derived)


def _expected(production_id: UUID, sha256: str) -> PhotoFile:
    file = PhotoFile.objects.filter(production_id=production_id, sha256=sha256).first()
    if file is None:
        raise Refusal(Code.not_expected, "No record that has come in names this file.")
    return file


def _status(file: PhotoFile) -> FileStatus:
    return FileStatus(file.state, file.received, file.renditions, file.reason)


def _shown_state(file: PhotoFile) -> str:
    return "unreadable" if file.state == "stored" and file.renditions == "failed" else file.state


@contextlib.contextmanager
def _putting_away() -> Iterator[None]:
    """A disk may be full and a bucket away. Each has errors of its own kind, and whichever it is, the phone
    still has the photo."""
    try:
        yield
    except Exception:
        logger.exception("The storage did not take a photo.")
        raise Refusal(
            Code.server_busy, "The server cannot put the photo away now; it is sent again later."
        ) from None


def _store(file: PhotoFile) -> None:
    """Check the whole file and keep it. The same last piece may come twice at once; one of the two waits."""
    path = partial_path(file.production_id, file.sha256)
    try:
        partial = path.open("rb")
    except FileNotFoundError:
        return
    with partial:
        fcntl.flock(partial, fcntl.LOCK_EX)
        if PhotoFile.objects.filter(id=file.id, state="stored").exists():
            return
        raw = partial.read()
        if hashlib.sha256(raw).hexdigest() != file.sha256:
            path.unlink(missing_ok=True)
            PhotoFile.objects.filter(id=file.id).update(received=0)
            raise Refusal(
                Code.hash_mismatch, "What has come is not the file the record names; send it again."
            )
        with _putting_away():
            keep(file, "original", raw)
        mark(file, state="stored", received=file.size, stored_at=timezone.now())
        path.unlink(missing_ok=True)
