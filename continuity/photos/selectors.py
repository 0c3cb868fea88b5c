"""Finding a stored photo for somebody who may see it."""

from __future__ import annotations

from django.core.files import File
from django.core.files.storage import default_storage

from continuity.people.documents import Role
from continuity.people.models import Membership
from continuity.people.roles import may_see_health
from continuity.photos.documents import PhotoMoment
from continuity.photos.models import PhotoFile
from continuity.photos.services import RENDITIONS, stored_name
from continuity.sync.refusal import Code, Refusal


def open_rendition(*, viewer: Membership, sha256: str, rendition: str) -> tuple[File[bytes], str]:
    """A rendition's file and its media type. Raises `Refusal` (not_found) when there is none, and for a photo
    of bare skin after removal when the viewer may not see health notes."""
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
    name = stored_name(file.production_id, file.sha256, file.media_type, rendition)
    try:
        opened = default_storage.open(name)
    except FileNotFoundError:
        raise Refusal(Code.not_found, "The photo's file is gone from the server.") from None
    return opened, file.media_type if rendition == "full" else "image/webp"
