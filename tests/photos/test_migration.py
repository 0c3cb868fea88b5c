"""Photos stored before the worker: their renditions are made, and what could not be read is kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from continuity.photos.models import PhotoFile
from continuity.photos.services import open_original
from tests.builders import make_show, photo, photos, sha256_of
from tests.photos.pictures import jpeg
from tests.photos.worker import prepare_photos

BEFORE = [("photos", "0002_initial")]


def _migrate(targets: list[tuple[str, str]]) -> Any:
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    return executor.loader.project_state(targets).apps


@pytest.fixture
def _back_again(transactional_db: None) -> Iterator[None]:
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    yield
    _migrate(latest)


@pytest.mark.usefixtures("_back_again")
def test_rows_of_before() -> None:
    show = make_show()
    stored, unreadable, gone, awaited = jpeg(seed=1), b"just a text", b"another text", jpeg(seed=2)
    files = (stored, unreadable, gone, awaited)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(*(photo(raw) for raw in files))))
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    old = _migrate(BEFORE).get_model("photos", "PhotoFile").objects
    folder = f"photos/{show.production}/{sha256_of(stored)[:2]}/{sha256_of(stored)}"
    for name, content in (("small.webp", b"small"), ("large.webp", b"large"), ("full.jpg", b"full")):
        default_storage.save(f"{folder}/{name}", ContentFile(content))
    aside = Path(settings.MEDIA_ROOT) / "partial" / show.production
    aside.mkdir(parents=True)
    (aside / f"{sha256_of(unreadable)}.unreadable").write_bytes(unreadable)
    old.filter(sha256=sha256_of(stored)).update(state="stored", received=len(stored))
    for raw in (unreadable, gone):
        old.filter(sha256=sha256_of(raw)).update(state="unreadable", reason="Not a picture.")
    _migrate(latest)

    def now(raw: bytes) -> tuple[str, str, str]:
        file = PhotoFile.objects.get(sha256=sha256_of(raw))
        return file.state, file.renditions, file.reason

    assert now(stored) == ("stored", "made", "")
    assert now(unreadable) == now(gone) == ("stored", "failed", "Not a picture.")
    assert now(awaited) == ("awaited", "to_be_made", "")
    # Nothing is made anew, and what there was is shown.
    assert prepare_photos() == 0
    for rendition in ("small", "large", "full"):
        path = show.head.path(f"photos/{sha256_of(stored)}/{rendition}")
        response = show.head.account.client.get(path)
        assert b"".join(response.streaming_content).decode() == rendition  # type: ignore[attr-defined]
    # No original was kept then; what is closest to it is measured.
    production = PhotoFile.objects.get(sha256=sha256_of(stored)).production_id
    assert open_original(production, sha256_of(stored)).content == b"full"
    assert open_original(production, sha256_of(unreadable)).content == unreadable
    # The one whose file is there can be tried again, the one whose file is gone is asked for again, and the
    # phone that comes back goes on with the last.
    for raw in (unreadable, gone):
        show.head.account.post(show.head.path(f"files/{sha256_of(raw)}/retry"), {})
        prepare_photos()
    assert "not a picture of the kind image/jpeg" in now(unreadable)[2]
    assert now(gone) == ("awaited", "to_be_made", "")
    assert show.set_artist.send_file(awaited).body["state"] == "stored"
