"""The same file in two productions: each has to send it, and sees and loses its own."""

from __future__ import annotations

import shutil
from pathlib import Path

from django.conf import settings

from tests.builders import Show, make_show, photo, photos, sha256_of
from tests.photos.pictures import jpeg
from tests.photos.worker import prepare_photos


def _shown(show: Show, raw: bytes) -> int:
    return show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/small")).status


def test_a_file_that_two_productions_have(show: Show) -> None:
    other, raw = make_show("Theirs"), jpeg()
    show.set_artist.send_ok(show.application(photos=photos(photo(raw))))
    show.set_artist.send_file(raw)
    prepare_photos()
    # Who knows its sha256 gets nothing by that, and nothing of it counts as sent.
    assert (_shown(show, raw), _shown(other, raw)) == (200, 404)
    assert other.set_artist.send_file(raw).body["code"] == "not_expected"
    other.set_artist.send_ok(other.application(photos=photos(photo(raw))))
    assert other.set_artist.file_status(sha256_of(raw)).body["state"] == "awaited"
    assert _shown(other, raw) == 404
    other.set_artist.send_file(raw)
    prepare_photos()
    assert (_shown(show, raw), _shown(other, raw)) == (200, 200)
    shutil.rmtree(Path(settings.MEDIA_ROOT) / "photos" / show.production)
    assert (_shown(show, raw), _shown(other, raw)) == (404, 200)


def test_what_is_bare_skin_in_one_production_is_not_in_another(show: Show) -> None:
    other, raw = make_show("Theirs"), jpeg()
    for each, moment in ((show, "removed"), (other, "applied")):
        each.set_artist.send_ok(each.application(photos=photos(photo(raw, moment=moment))))
        each.set_artist.send_file(raw)
    prepare_photos()
    path = f"photos/{sha256_of(raw)}/small"
    assert show.shop.account.get(show.shop.path(path)).status == 404
    assert other.shop.account.get(other.shop.path(path)).status == 200
