"""Photos' files: expected from a record's manifest, received in pieces, kept once under their sha256."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from continuity.photos import documents
from continuity.photos.models import Photo, PhotoFile
from continuity.photos.pictures import Renditions, UnreadablePhoto, make_renditions
from continuity.schedule.models import Production
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.services import restate_records

MAXIMUM_PIECE = 1_048_576
RENDITIONS = ("small", "large", "full")
EXTENSIONS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


@dataclass(frozen=True)
class FileStatus:
    """How far a file has come; ``received`` in bytes."""

    state: str
    received: int
    reason: str = ""


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


def file_states(production_id: UUID, photos: Iterable[documents.Photo]) -> dict[str, str]:
    """Whether each photo's file is in: "awaited", "stored" or "unreadable" by sha256."""
    wanted = [photo.sha256 for photo in photos]
    if not wanted:
        return {}
    return dict(
        PhotoFile.objects.filter(production_id=production_id, sha256__in=wanted).values_list(
            "sha256", "state"
        )
    )


def file_status(*, production_id: UUID, sha256: str) -> FileStatus:
    """How much of a file has come. Raises `Refusal` (not_expected) when no record names it."""
    file = PhotoFile.objects.filter(production_id=production_id, sha256=sha256).first()
    if file is None:
        raise Refusal(Code.not_expected, "No record that has come in names this file.")
    return FileStatus(file.state, file.received, file.reason)


def receive_piece(*, production_id: UUID, sha256: str, offset: int, total: int, piece: bytes) -> FileStatus:
    """Take the next piece of a file; with the last one check it, decode it and store it.

    Raises `Refusal`: not_expected, wrong_offset (ask how much has come and go on from there),
    hash_mismatch (start over), unreadable_photo (the bytes are set aside, the file is marked).
    """
    with transaction.atomic():
        file = (
            PhotoFile.objects.select_for_update().filter(production_id=production_id, sha256=sha256).first()
        )
        if file is None:
            raise Refusal(Code.not_expected, "No record that has come in names this file.")
        if file.state == "stored":
            return FileStatus("stored", file.size)
        if total != file.size:
            raise Refusal(
                Code.not_a_request,
                f"The record says {file.size} bytes, the file {total}.",
                field="Content-Range",
            )
        if file.state == "unreadable":
            file.state, file.reason, file.received = "awaited", "", 0
        if offset != file.received or offset + len(piece) > file.size:
            raise Refusal(Code.wrong_offset, f"{file.received} bytes have come.", field=str(file.received))
        _write_piece(_partial_path(file), offset, piece)
        whole = offset + len(piece) == file.size
        if not whole:
            file.received += len(piece)
        # The last piece counts once the file is stored: a server that stops before that asks for it again.
        file.save()
    return _finish(file) if whole else FileStatus("awaited", file.received)


def stored_name(production_id: UUID, sha256: str, media_type: str, rendition: str) -> str:
    """Where a rendition lies in the storage."""
    extension = EXTENSIONS[media_type] if rendition == "full" else "webp"
    return f"photos/{production_id}/{sha256[:2]}/{sha256}/{rendition}.{extension}"


def _finish(file: PhotoFile) -> FileStatus:
    path = _partial_path(file)
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        # The same piece came twice at once, and the other has finished the file.
        return file_status(production_id=file.production_id, sha256=file.sha256)
    if hashlib.sha256(raw).hexdigest() != file.sha256:
        path.unlink(missing_ok=True)
        PhotoFile.objects.filter(id=file.id).update(received=0)
        raise Refusal(Code.hash_mismatch, "What has come is not the file the record names; send it again.")
    try:
        renditions = make_renditions(raw, file.media_type)
    except UnreadablePhoto as error:
        # Set aside beside the partial files: a person may still make something of it.
        with contextlib.suppress(FileNotFoundError):
            path.rename(path.with_suffix(".unreadable"))
        _mark(file, state="unreadable", reason=str(error)[:200])
        raise Refusal(Code.unreadable_photo, str(error)) from None
    if not PhotoFile.objects.filter(id=file.id, state="stored").exists():
        _store(file, renditions)
    _mark(
        file,
        state="stored",
        received=file.size,
        stored_at=timezone.now(),
        width=renditions.width,
        height=renditions.height,
    )
    path.unlink(missing_ok=True)
    return FileStatus("stored", file.size)


def _store(file: PhotoFile, renditions: Renditions) -> None:
    contents = {"full": renditions.full, "large": renditions.large, "small": renditions.small}
    for rendition, content in contents.items():
        name = stored_name(file.production_id, file.sha256, file.media_type, rendition)
        # What lies there may be half a file of a server that stopped while it wrote.
        default_storage.delete(name)
        saved = default_storage.save(name, ContentFile(content))
        if saved != name:
            # The same piece came twice at once, and the other was quicker.
            default_storage.delete(saved)


def _mark(file: PhotoFile, **columns: Any) -> None:
    with transaction.atomic():
        # Two photos of one sheet may be in at once; neither may write over what the other said of it.
        Production.objects.select_for_update().get(id=file.production_id)
        PhotoFile.objects.filter(id=file.id).update(**columns)
        shown_in = Photo.objects.filter(file=file).values_list("application_id", flat=True)
        derived = {
            record.id: {"files": {**record.derived.get("files", {}), file.sha256: columns["state"]}}
            for record in Record.objects.filter(id__in=set(shown_in))
        }
        restate_records(production_id=file.production_id, derived=derived)


def _partial_path(file: PhotoFile) -> Path:
    folder = Path(settings.MEDIA_ROOT) / "partial" / str(file.production_id)
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{file.sha256}.part"


def _write_piece(path: Path, offset: int, piece: bytes) -> None:
    with open(path, "r+b" if path.exists() else "w+b") as target:
        target.seek(offset)
        target.write(piece)
        target.truncate()
