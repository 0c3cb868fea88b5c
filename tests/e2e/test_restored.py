"""A server restored from a backup: what people have written since is on their phones, and comes back."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from .bench import open_order
from .killed import KilledServer, killable, wait_for
from .phone import NewPhone
from .pictures import take_photo
from .served import Json, Served, expect_soon, plain

PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"
NOTE = "Written after the backup"


@pytest.fixture
def server(demo_data: Path, tmp_path: Path) -> Iterator[KilledServer]:
    with killable(demo_data, tmp_path / "served") as server:
        yield server


@pytest.fixture
def served(server: KilledServer) -> Served:
    return server.served


def test_what_was_written_since_the_backup_comes_back_once(
    server: KilledServer, served: Served, new_phone: NewPhone, tmp_path: Path
) -> None:
    def orders() -> dict[str, str]:
        return {order["appliance"]: order["state"] for order in served.documents("order").values()}

    def sheet() -> Json | None:
        """The sheet with the note."""
        found = [one for one in served.documents("application").values() if one.get("note") == NOTE]
        assert len(found) < 2
        return found[0] if found else None

    def original(sha256: str) -> list[bytes]:
        return [file.read_bytes() for file in (served.data_dir / "media").rglob(f"{sha256}/original.*")]

    [appliance] = [served.rows("SELECT id FROM stock_appliance WHERE name = ?", APPLIANCE)[0]["id"]]
    artist, shop = new_phone("artist"), new_phone("shop")
    wait_for(lambda: appliance in map(plain, orders()), "The order of the demo")
    server.stop()
    backup = tmp_path / "backup"
    shutil.copytree(served.data_dir, backup)
    server.start_again()

    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Start")
    artist.add_photos("Applied", {"Front": take_photo(tmp_path / "front.jpg", "Front")})
    artist.write("Note", NOTE)
    open_order(shop, APPLIANCE)
    shop.tap("Take it on")
    for phone in (artist, shop):
        phone.expect_not_sent(0)
    written = sheet()
    assert written
    [photo] = written["photos"].values()
    [sent] = original(photo["sha256"])

    server.stop()
    shutil.rmtree(served.data_dir)
    shutil.copytree(backup, served.data_dir)
    server.start_again()
    assert sheet() is None
    assert "taken_on" not in orders().values()

    for phone in (artist, shop):
        phone.go_unsent()
        phone.tap("Send now")
    expect_soon(sheet, written)
    expect_soon(lambda: original(photo["sha256"]), [sent])
    expect_soon(lambda: "taken_on" in orders().values(), True)
    for phone in (artist, shop):
        phone.expect_not_sent(0)
    assert served.documents("conflict") == {}
