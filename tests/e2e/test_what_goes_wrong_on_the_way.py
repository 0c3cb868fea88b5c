"""Networks that lie, sign-ins that are lost, phones that die: nothing written is lost, or kept twice."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import expect

from .phone import PASSWORD, NewPhone, Phone
from .pictures import take_photo
from .served import Served, expect_soon

PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"
PORTAL_PAGE = "<!doctype html><title>Guest network</title><h1>Accept the terms to go on</h1>"


def write_note(phone: Phone, words: str) -> None:
    """On the sheet of the first planned application, which it starts."""
    phone.sitting(PERFORMER, LOOK).click()
    phone.tap("Start")
    phone.write("Note", words)


def open_sheet(phone: Phone, address: str) -> None:
    phone.page.evaluate("address => { location.hash = address; }", address)


def notes(served: Served, words: str) -> int:
    """How many application sheets have this note."""
    return [sheet.get("note") for sheet in served.documents("application").values()].count(words)


def test_a_network_that_answers_for_itself_takes_nothing(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("artist")
    before = len(served.entries())
    phone.context.route(
        "**/api/**", lambda route: route.fulfill(status=200, content_type="text/html", body=PORTAL_PAGE)
    )
    write_note(phone, "Written behind the guest network")
    phone.go_unsent()
    phone.tap("Send now")
    expect(phone.page.get_by_text("it may want you to sign in to it first")).to_be_visible()
    expect(phone.unsent_line).to_have_text(re.compile(r"^\d+ not sent yet$"))
    assert len(served.entries()) == before

    phone.context.unroute("**/api/**")
    phone.tap("Send now")
    phone.expect_not_sent(0)
    assert notes(served, "Written behind the guest network") == 1


def test_a_lost_sign_in_stops_the_sending_and_loses_nothing(new_phone: NewPhone, served: Served) -> None:
    phone = new_phone("artist")
    before = len(served.entries())
    served.forget_sessions()
    write_note(phone, "Written while signed out")
    expect(phone.page.get_by_test_id("unsent-line")).to_contain_text("signed out")
    phone.reload()
    expect(phone.page.get_by_label("Note")).to_have_value("Written while signed out")
    phone.go_unsent()
    expect(phone.unsent_line).to_have_text(re.compile(r"^\d+ not sent yet$"))
    assert len(served.entries()) == before

    phone.page.get_by_role("link", name="Sign in again").click()
    expect(phone.page.get_by_label("User name")).to_have_value("artist")
    phone.page.get_by_label("Password").fill(PASSWORD)
    phone.tap("Sign in")
    phone.expect_not_sent(0)
    assert notes(served, "Written while signed out") == 1


def test_who_signed_out_without_a_network_is_not_signed_in_again_by_a_wrong_password(
    new_phone: NewPhone,
) -> None:
    phone = new_phone("artist")
    phone.go_unsent()
    phone.cut_network()
    phone.tap("Sign out…")
    phone.panel("Sign out?").get_by_role("button", name="Sign out").click()
    expect(phone.page.get_by_label("User name")).to_be_visible()
    phone.restore_network()
    phone.page.get_by_label("User name").fill("continuity")
    phone.page.get_by_label("Password").fill("not the password")
    phone.tap("Sign in")
    expect(phone.page.get_by_text("The name or the password is wrong.")).to_be_visible()
    phone.reload()
    expect(phone.page.get_by_label("User name")).to_be_visible()
    phone.sign_in("continuity")


def test_two_phones_that_take_the_same_copy_both_keep_it_and_somebody_says_which(
    new_phone: NewPhone, served: Served
) -> None:
    known = set(served.documents("application"))
    phones = [new_phone("artist"), new_phone("head")]
    for phone in phones:
        phone.cut_network()
        phone.sitting(PERFORMER, LOOK).click()
        phone.tap("Start")
    artist, head = phones
    tags = [phone.section("Copies").locator(".tag") for phone in phones]
    taken = tags[0].inner_text()
    expect(tags[1]).to_have_text(taken)
    for phone in phones:
        phone.expect_not_sent(1)
        phone.restore_network()
        phone.expect_not_sent(0)

    made = {key: sheet for key, sheet in served.documents("application").items() if key not in known}
    assert len(made) == 2
    for phone in phones:
        phone.go_unsent()
        phone.tap("Send now")
        expect(phone.heading("One copy is on two sheets")).to_be_visible()
    conflict = head.page.get_by_role("article").filter(has_text="One copy is on two sheets")
    expect(conflict).to_contain_text(taken)
    conflict.get_by_role("button", name="Say which serial it was").click()
    panel = head.panel("Which serial was it?")
    others = panel.get_by_label("The copy it really was").get_by_role("option")
    [offered, *_] = [words for words in others.all_inner_texts() if words.endswith(", on set")]
    another = offered.removesuffix(", on set")
    panel.get_by_label("The copy it really was").select_option(label=offered)
    panel.get_by_role("button", name="It was this one").click()
    expect(conflict).to_be_hidden()

    def uses() -> dict[str, tuple[int, int]]:
        """Of each of the two copies: whether it is marked as taken twice, and how many sheets have it."""
        found = served.rows(
            "SELECT serial, doubled, count(*) AS sheets FROM applications_copyuse JOIN stock_copy AS copy"
            " ON copy.id = copy_used_id WHERE serial IN (?, ?) GROUP BY serial, doubled",
            taken,
            another,
        )
        return {use["serial"]: (use["doubled"], use["sheets"]) for use in found}

    expect_soon(uses, {taken: (0, 1), another: (0, 1)})
    head.expect_not_sent(0)
    [settled] = served.documents("conflict").values()
    assert another in settled["settled"]["words"]
    artist.tap("Send now")
    expect(artist.heading("One copy is on two sheets")).to_be_hidden()


def test_two_notes_on_one_sheet_are_both_kept_and_the_other_can_be_taken(
    new_phone: NewPhone, served: Served
) -> None:
    artist, head = new_phone("artist"), new_phone("head")
    write_note(artist, "As it was")
    expect_soon(lambda: notes(served, "As it was"), 1)
    expect(artist.page).not_to_have_url(re.compile("/sheet/new"))
    sheet = re.sub(r".*#", "#", artist.page.url)
    for phone, words in ((artist, "By the artist"), (head, "By the head")):
        open_sheet(phone, sheet)
        expect(phone.page.get_by_label("Note")).to_have_value("As it was")
        phone.cut_network()
        phone.write("Note", words)
        phone.expect_not_sent(1)
    for phone in (artist, head):
        phone.restore_network()
        phone.expect_not_sent(0)
    assert (notes(served, "By the artist"), notes(served, "By the head")) == (1, 0)

    head.go_unsent()
    conflict = head.page.get_by_role("article").filter(has_text="Two people changed the same thing")
    conflict.get_by_role("button", name="Take the other").click()
    expect(conflict).to_be_hidden()
    head.expect_not_sent(0)
    assert (notes(served, "By the artist"), notes(served, "By the head")) == (0, 1)
    [settled] = served.documents("conflict").values()
    assert "settled" in settled
    artist.go_unsent()
    artist.tap("Send now")
    open_sheet(artist, sheet)
    expect(artist.page.get_by_label("Note")).to_have_value("By the head")


def test_what_a_dying_phone_exported_is_handed_in_from_another(
    new_phone: NewPhone, served: Served, tmp_path: Path
) -> None:
    artist, head = new_phone("artist"), new_phone("head")
    before = len(served.entries())
    artist.cut_network()
    write_note(artist, "Written on a dying phone")
    artist.add_photos("Applied", {"Front": take_photo(tmp_path / "front.jpg", "Front")})
    artist.go_unsent()
    with artist.page.expect_download() as download:
        artist.tap("Export to a file")
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert re.fullmatch(r"unsent-\d{4}-\d\d-\d\d-\w+\.ndjson", file.name)
    expect(artist.page.get_by_text("Exported: look among the phone's downloads")).to_contain_text(file.name)

    head.go_unsent()
    head.page.get_by_label("Choose the file").set_input_files(file)
    expect(
        head.page.get_by_text(re.compile(r"^\d+ taken, 0 were there already, 0 not taken\."))
    ).to_contain_text("Photos stored: 1 of 1")
    handed_in = served.entries()[before:]
    assert notes(served, "Written on a dying phone") == 1

    artist.restore_network()
    artist.expect_not_sent(0)
    assert served.entries()[before:] == handed_in
    assert [
        row["state"] for row in served.rows("SELECT state FROM photos_photofile WHERE state <> 'stored'")
    ] == []
    head.page.get_by_label("Choose the file").set_input_files(file)
    expect(head.page.get_by_text(re.compile("^0 taken, [1-9]"))).to_be_visible()
    assert served.entries()[before:] == handed_in
