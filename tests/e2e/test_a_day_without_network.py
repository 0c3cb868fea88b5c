"""A set artist's day in a trailer without a network, from the first sign-in to what the office has of it."""

from __future__ import annotations

import io
import re
from base64 import b64decode
from functools import partial
from pathlib import Path

from PIL import Image
from playwright.sync_api import expect

from .phone import Handset, NewPhone, Phone
from .pictures import UPRIGHT, take_photo, tells_place_or_device
from .served import Json, Served, expect_soon, plain

PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"
DIFFERENT = "Less red in the rim, the night lamps are warm"
COPY_AFTER = "Edge gone, middle kept for the moulding room"
SKIN_AFTER = "Faint redness at the temple, gone after an hour"
SEALER_PAST_ITS_DATE = "Acrylic sealer, lot AS-640"
ANGLES = ("Front", "Three-quarter left", "Close-up")


def test_a_whole_application_without_a_network(
    handset: Handset, new_phone: NewPhone, served: Served, tmp_path: Path
) -> None:
    entries_before = served.entries()
    spares = on_set(served)
    photos = {angle: take_photo(tmp_path / f"{angle}.jpg", angle) for angle in ANGLES}
    assert all(tells_place_or_device(photo.read_bytes()) for photo in photos.values())

    artist = handset.switch_on(network=True)
    artist.sign_in("artist")
    artist.go("Cover")
    artist.expect_spares_on_cover(APPLIANCE, spares)
    handset.close()

    artist = handset.switch_on(network=False)
    expect(artist.heading("Today")).to_be_visible()
    people = artist.page.get_by_role("article").get_by_role("heading", level=3)
    in_order = (PERFORMER, "Idris Penmarrow", "Petra Wexcombe")
    expect(people).to_have_text([re.compile(f"^{name}") for name in in_order])
    artist.expect_spares_on_today(PERFORMER, LOOK, spares)

    artist.sitting(PERFORMER, LOOK).click()
    spoiled, good = puts_it_on(artist)
    is_worn(artist, photos)
    comes_off(artist)
    expect_on_the_phone(artist, spares - 2)
    waiting = artist.everything_kept()["photoBytes"]
    assert len(waiting) == 3
    assert not any(tells_place_or_device(b64decode(photo["bytes"])) for photo in waiting)
    handset.close()
    assert served.entries() == entries_before

    artist = handset.switch_on(network=False)
    expect_on_the_phone(artist, spares - 2)
    artist.sitting(PERFORMER, LOOK).click()
    expect_sheet(artist, spoiled, good)
    expect(artist.page.get_by_label("The skin after")).to_have_value(SKIN_AFTER)

    artist.restore_network()
    artist.expect_not_sent(0)

    continuity = new_phone("continuity")
    expect(continuity.sitting(PERFORMER, LOOK)).to_contain_text("Removed")
    continuity.expect_spares_on_today(PERFORMER, LOOK, spares - 2)
    continuity.sitting(PERFORMER, LOOK).click()
    expect_sheet(continuity, spoiled, good)
    expect(continuity.page.get_by_text("The copy after:")).to_be_visible()
    expect(continuity.page.get_by_text("The skin after")).to_be_hidden()
    kept = str(continuity.everything_kept())
    assert COPY_AFTER in kept
    assert SKIN_AFTER not in kept
    assert SKIN_AFTER in str(artist.everything_kept())

    written = served.entries()[len(entries_before) :]
    assert [entry["kind"] for entry in written] == ["application"]
    [sheet] = [served.documents("application")[entry["record"]] for entry in written]
    assert on_set(served) == spares - 2
    expect_every_part(served, sheet)
    expect_copies(served, written[0], spoiled, good)
    expect_files(served, sheet)


def puts_it_on(phone: Phone) -> tuple[str, str]:
    """Returns the serials of the copy that was spoiled and of the one put on."""
    phone.tap("Start")
    copies = phone.section("Copies").locator(".tag")
    expect(copies).to_have_count(1)
    spoiled = copies.inner_text()
    phone.spoil_copy(spoiled, "Edge folded")
    expect(copies).to_have_count(2)
    phone.add_adhesive("Temple", "Silicone adhesive, lot SA-2207", typed=True)
    phone.choose_material("Edge solvent", "Isopropyl alcohol 99 %, lot IPA-0904")
    phone.choose_material("Sealer", SEALER_PAST_ITS_DATE)
    phone.go_past_warning(
        re.compile(r"Acrylic sealer, lot \S+, expired on \d"), "No other lot in the trailer"
    )
    phone.choose_recipe("Cut brow, fresh, version 2", DIFFERENT)
    phone.tap("Ready")
    return spoiled, copies.last.inner_text()


def is_worn(phone: Phone, photos: dict[str, Path]) -> None:
    front, *others = ANGLES
    phone.add_photos("Applied", {angle: photos[angle] for angle in others})
    phone.tap("On camera")
    phone.add_photos("On set", {front: photos[front]})
    phone.add_touch_up("Sweat")
    phone.tap("Start a break")
    phone.tap("End the break")
    expect(phone.page.get_by_text("Break of")).to_be_visible()


def comes_off(phone: Phone) -> None:
    phone.tap("Removed")
    phone.page.get_by_label("Remover").select_option(label="Silicone adhesive remover, lot SR-88")
    phone.write("The copy after", COPY_AFTER)
    phone.write("The skin after", SKIN_AFTER)
    expect(phone.stage).to_contain_text("Removed")


def expect_on_the_phone(phone: Phone, spares: int) -> None:
    # One sheet, however often it was changed, and its three photos.
    phone.expect_not_sent(4)
    phone.go("Cover")
    phone.expect_spares_on_cover(APPLIANCE, spares)
    phone.go("Today")
    phone.expect_spares_on_today(PERFORMER, LOOK, spares)
    expect(phone.sitting(PERFORMER, LOOK)).to_contain_text("Removed")
    expect(phone.sitting(PERFORMER, LOOK)).to_contain_text("Not sent yet")


def expect_sheet(phone: Phone, spoiled: str, good: str) -> None:
    expect(phone.heading(PERFORMER)).to_be_visible()
    copies = phone.section("Copies")
    expect(copies.get_by_role("button", name=spoiled)).to_contain_text("Spoiled: Edge folded")
    expect(copies.get_by_role("button", name=good)).not_to_contain_text("Spoiled")
    expect(phone.section("Touch-ups and breaks")).to_contain_text("Sweat")
    expect(phone.section("Paint")).to_contain_text(DIFFERENT)
    pictures = phone.section("Photos").get_by_role("img")
    expect(pictures).to_have_count(3)
    for picture in pictures.all():
        expect(picture).to_have_js_property("complete", True)
        # Upright, as it was held, whatever way round the file lies.
        assert picture.evaluate("it => it.naturalHeight > it.naturalWidth")


def on_set(served: Served) -> int:
    """Copies that are on set and may be used today, as the database has it."""
    found = served.rows(
        "SELECT count(*) AS copies FROM stock_copy JOIN stock_appliance ON stock_appliance.id = appliance_id"
        " WHERE stock_appliance.name = ? AND state = 'on_set' AND use_by >= date('now')"
        " AND stock_copy.grade = stock_appliance.grade",
        APPLIANCE,
    )
    return int(found[0]["copies"])


def expect_every_part(served: Served, sheet: Json) -> None:
    materials, recipes = served.documents("material"), served.documents("recipe")

    def lot(identifier: str) -> str | None:
        return materials[plain(identifier)].get("lot")

    assert [served.documents("scene")[plain(scene)]["number"] for scene in sheet["scenes"]] == ["12"]
    zones = {use["zone"]: lot(use["material"]) for use in sheet["adhesives"].values()}
    assert zones["Temple"] == "SA-2207"
    assert len(zones) == 3  # and the two zones of the last time, which the sheet is filled in with
    assert (lot(sheet["edge_solvent"]), lot(sheet["sealer"]), lot(sheet["remover"])) == (
        "IPA-0904",
        "AS-640",
        "SR-88",
    )
    assert recipes[plain(sheet["recipe"])]["version"] == 2
    assert sheet["recipe_differences"] == DIFFERENT
    stamps = [sheet[stamp] for stamp in ("started_at", "ready_at", "on_camera_at", "removed_at")]
    assert stamps == sorted(stamps)
    assert [touch_up["reason"] for touch_up in sheet["touch_ups"].values()] == ["Sweat"]
    assert all(one["started_at"] <= one["ended_at"] for one in sheet["breaks"].values())
    assert len(sheet["breaks"]) == 1
    assert (sheet["copy_after"], sheet["skin_after"]) == (COPY_AFTER, SKIN_AFTER)
    [(key, overridden)] = sheet["overridden"].items()
    assert key == f"material_past_date:{sheet['sealer']}"
    assert overridden["why"] == "No other lot in the trailer"
    shown = sorted(
        (photo["angle"], photo["moment"], photo["story_day"]) for photo in sheet["photos"].values()
    )
    assert shown == [("close_up", "applied", 1), ("front", "on_set", 1), ("three_quarter_left", "applied", 1)]


def expect_copies(served: Served, entry: Json, spoiled: str, good: str) -> None:
    """The two copies are where the sheet has put them, once each, with when and by whom."""
    changes = served.rows(
        "SELECT serial, state, from_state, to_state, happened_at, username FROM stock_copychange AS change"
        " JOIN stock_copy AS copy ON copy.id = change.copy_id"
        " JOIN people_membership AS crew ON crew.id = by_id JOIN auth_user AS user ON user.id = crew.user_id"
        " WHERE entry_id = ? ORDER BY to_state",
        entry["id"],
    )
    told = [
        (change["serial"], change["state"], change["from_state"], change["to_state"]) for change in changes
    ]
    assert told == [(spoiled, "damaged", "on_set", "damaged"), (good, "used_up", "on_set", "used_up")]
    assert {change["username"] for change in changes} == {"artist"}
    assert all(change["happened_at"] for change in changes)
    uses = served.rows(
        "SELECT serial, outcome, why, doubled FROM applications_copyuse JOIN stock_copy AS copy"
        " ON copy.id = copy_used_id WHERE serial IN (?, ?) ORDER BY outcome",
        good,
        spoiled,
    )
    assert [tuple(use.values()) for use in uses] == [
        (good, "good", "", 0),
        (spoiled, "spoiled", "Edge folded", 0),
    ]


def expect_files(served: Served, sheet: Json) -> None:
    """The three photos are stored as they came and in their sizes, upright, and tell of no place and no
    device."""
    for photo in sheet["photos"].values():
        sha256 = photo["sha256"]
        [row] = served.rows("SELECT * FROM photos_photofile WHERE sha256 = ?", sha256)
        assert (row["state"], row["size"]) == ("stored", photo["size"])
        made = 'SELECT renditions, "full" FROM photos_photofile WHERE sha256 = ?'
        expect_soon(partial(served.rows, made, sha256), [{"renditions": "made", "full": "made"}])
        files = sorted((served.data_dir / "media").rglob(f"{sha256}/*"))
        assert [file.stem for file in files] == ["full", "large", "original", "small"]
        for file in files:
            content = file.read_bytes()
            assert not tells_place_or_device(content)
            if file.stem == "original":
                continue
            with Image.open(io.BytesIO(content)) as picture:
                assert picture.width / picture.height == UPRIGHT[0] / UPRIGHT[1]
