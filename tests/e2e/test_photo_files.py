"""Photos this browser cannot show, and photos the server cannot: a HEIC as many phones write it."""

from __future__ import annotations

from base64 import b64decode
from pathlib import Path

from playwright.sync_api import expect

from continuity.bootstrap.places import FRONTEND

from .phone import NewPhone, Phone
from .served import Served, expect_soon

PERFORMER, LOOK = "Tamsin Oakhollow", "Cut brow, fresh"
HEIC = FRONTEND / "test" / "pictures" / "phone.heic"


def _adds(artist: Phone, photo: Path) -> None:
    artist.add_photos("Applied", {"Front": photo})


def _shown(artist: Phone) -> None:
    picture = artist.section("Photos").get_by_role("img", name="Front, applied")
    expect(picture).to_be_visible()
    expect_soon(lambda: picture.evaluate("image => image.naturalWidth > 0"), True)


def test_a_heic_is_kept_without_a_network_and_shown_once_the_server_has_it(new_phone: NewPhone) -> None:
    """Chromium shows no HEIC."""
    artist = new_phone("artist")
    artist.cut_network()
    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Start")
    _adds(artist, HEIC)
    expect(artist.section("Photos")).to_contain_text("Kept. Shown once the server has it")
    [kept] = artist.everything_kept()["photoBytes"]
    # The place, the device and the serial number in it are called that; see the picture's own test.
    assert b"Secret" in HEIC.read_bytes()
    assert b"Secret" not in b64decode(kept["bytes"])
    artist.restore_network()
    artist.expect_not_sent(0)
    _shown(artist)


def test_a_photo_the_server_cannot_read_needs_somebody(
    new_phone: NewPhone, served: Served, tmp_path: Path
) -> None:
    raw = bytearray(HEIC.read_bytes())
    # Without the decoder's parameters nothing can be made of it; all boxes are there.
    at = raw.index(b"hvcC") + 4
    raw[at : at + 40] = bytes(40)
    broken = tmp_path / "broken.heic"
    broken.write_bytes(raw)
    artist = new_phone("artist")
    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Start")
    _adds(artist, broken)
    line = artist.page.get_by_test_id("unsent-line")
    expect(line).to_contain_text("1 needs you")
    artist.go_unsent()
    told = artist.page.get_by_role("article").filter(has_text="cannot be read as a picture")
    expect(told).to_contain_text("Front, applied")
    [row] = served.rows("SELECT sha256 FROM photos_photofile WHERE media_type = 'image/heic'")
    [original] = (served.data_dir / "media").rglob(f"{row['sha256']}/original.heic")
    assert original.stat().st_size == len(raw)
    # Somebody puts one in its place that can be read.
    original.write_bytes(HEIC.read_bytes())
    told.get_by_role("button", name="Try again").click()
    expect(told).to_be_hidden()
    expect(line).not_to_contain_text("needs you")
    state = "SELECT renditions FROM photos_photofile WHERE media_type = 'image/heic'"
    expect_soon(lambda: served.rows(state), [{"renditions": "made"}])
