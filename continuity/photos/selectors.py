"""Finding a stored photo for somebody who may see it."""

from __future__ import annotations

import contextlib

from django.core.files import File

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.photos.documents import PhotoMoment
from continuity.photos.keeping import GONE, can_be_made, open_kept, rendition_type, taking_from_storage
from continuity.photos.models import PhotoFile
from continuity.photos.services import make_again, try_again
from continuity.sync.refusal import Code, Refusal

RENDITIONS = ("small", "large", "full")


def open_rendition(*, viewer: Membership, sha256: str, rendition: str) -> tuple[File[bytes], str]:
    """A rendition's file and its media type. Raises `Refusal`: not_found when there is none, and for a photo
    of bare skin after removal when the viewer may not see health notes; not_ready when it is still to be
    made; server_busy when the storage does not answer.

    What should be in the storage and is not is put down to be made again, and so is a photo that failed
    because its file was gone, once that is back."""
    files = PhotoFile.objects.filter(
        production_id=viewer.production_id,
        sha256=sha256,
        state="stored",
        photos__application__withdrawn=False,
    )
    if not may_see_health(Role(viewer.role)):
        files = files.exclude(photos__moment=PhotoMoment.REMOVED)
    file = files.first()
    if file is None or rendition not in RENDITIONS:
        raise Refusal(Code.not_found, "There is no such photo.")
    made = file.full if rendition == "full" else file.renditions
    if "failed" in {made, file.renditions}:
        with taking_from_storage():
            is_back = file.reason == GONE and can_be_made(file)
        if not is_back:
            raise Refusal(Code.not_found, f"The photo is kept, and cannot be shown: {file.reason}")
        try_again(production_id=file.production_id, sha256=sha256)
    elif made == "made":
        with taking_from_storage(), contextlib.suppress(FileNotFoundError):
            return open_kept(file, rendition), rendition_type(file, rendition)
        make_again(file, rendition)
    raise Refusal(Code.not_ready, "The photo has come; it can be shown in a moment.")
