"""Where a photo's files lie: the pieces that have come on this machine, all else in Django's storage."""

from __future__ import annotations

import contextlib
import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from continuity.photos.models import PhotoFile
from continuity.photos.pictures import full_type
from continuity.sync.refusal import Code, Refusal

logger = logging.getLogger(__name__)

EXTENSIONS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heic": "heic",
    "image/heif": "heif",
}


GONE = "The photo's file is gone from the server."

MADE_FROM = ("original", "full")
"""What renditions are made from: what was sent, or where that is not there, every pixel of it."""


def rendition_type(file: PhotoFile, rendition: str) -> str:
    """The media type of "small", "large", "full" or "original"."""
    if rendition == "original":
        return file.media_type
    return full_type(file.media_type) if rendition == "full" else "image/webp"


def stored_name(file: PhotoFile, rendition: str) -> str:
    """Where "small", "large", "full" or "original" lies in the storage."""
    extension = EXTENSIONS[rendition_type(file, rendition)]
    return f"photos/{file.production_id}/{file.sha256[:2]}/{file.sha256}/{rendition}.{extension}"


def keep(file: PhotoFile, rendition: str, content: bytes) -> None:
    """Put it into the storage, in the place of what a server that stopped half-way may have left there.

    The phone forgets its bytes once they are here: on a local disk they are on the disk when this returns.
    """
    name = default_storage.save(stored_name(file, rendition), ContentFile(content))
    try:
        path = default_storage.path(name)
    except NotImplementedError:
        return  # A bucket answers when it has it.
    for each in (path, os.path.dirname(path)):
        descriptor = os.open(each, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def open_kept(file: PhotoFile, rendition: str) -> File[bytes]:
    """Raises FileNotFoundError when it is gone."""
    return default_storage.open(stored_name(file, rendition))


@dataclass(frozen=True)
class Original:
    """What is kept of a photo to decode. ``as_sent`` unless the bytes the phone sent are not there: of photos
    that came before those were kept, and where they are lost, it is every pixel, upright, and no more."""

    content: bytes
    media_type: str
    as_sent: bool


def can_be_made(file: PhotoFile) -> bool:
    """Whether there is something to make renditions from."""
    return any(default_storage.exists(stored_name(file, rendition)) for rendition in MADE_FROM)


def read_original(file: PhotoFile) -> Original:
    """Raises FileNotFoundError when there is nothing to make renditions from."""
    for rendition in MADE_FROM:
        if default_storage.exists(stored_name(file, rendition)):
            with open_kept(file, rendition) as opened:
                return Original(opened.read(), rendition_type(file, rendition), rendition == "original")
    raise FileNotFoundError(stored_name(file, "original"))


@contextlib.contextmanager
def taking_from_storage() -> Iterator[None]:
    """What a storage raises in here is a `Refusal`: not_found for what is gone, server_busy for the rest."""
    try:
        yield
    except FileNotFoundError:
        raise Refusal(Code.not_found, GONE) from None
    except Exception:
        # A storage has errors of its own kind each.
        logger.exception("The storage did not give a photo.")
        raise Refusal(Code.server_busy, "The place where photos are kept does not answer now.") from None


def partial_path(production_id: UUID, sha256: str) -> Path:
    """Where the pieces of a file that have come are put together."""
    folder = Path(settings.MEDIA_ROOT) / "partial" / str(production_id)
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{sha256}.part"


def write_piece(path: Path, offset: int, piece: bytes) -> None:
    with open(path, "r+b" if path.exists() else "w+b") as target:
        target.seek(offset)
        target.write(piece)
        target.truncate()
