"""The page for the production meeting, read back from its PDF."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from continuity.cover.report_page import Row, report_page
from continuity.cover.watch import look_once
from tests.builders import ROLES, make_production, sign_up_head, table_counts
from tests.shop.season import Season, make_season


def _read(content: bytes) -> PdfReader:
    assert content.startswith(b"%PDF-")
    return PdfReader(io.BytesIO(content))


def _words(content: bytes) -> str:
    """All the text, its lines joined."""
    return " ".join(" ".join(page.extract_text().split()) for page in _read(content).pages)


def _report(season: Season, role: str = "department_head") -> bytes:
    phone = season.show.phone(role)
    answer = phone.account.client.get(phone.path("cover/report"))
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    return bytes(answer.content)


def _in_words(date: str) -> str:
    names = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
             "October", "November", "December")  # fmt: skip
    year, month, day = date.split("-")
    return f"{int(day)} {names[int(month) - 1]} {year}"


def test_an_appliance_at_risk_with_its_order(season: Season) -> None:
    season.shoot(10, 11, 12)
    cover = season.cover()
    reorder = cover["reorder"]
    words = _words(_report(season))
    assert "The Long Winter" in words
    assert "Worked out on" in words
    assert "98 % sure" in words
    assert "! Brow 3" in words
    assert _in_words(cover["first_day_at_risk"]) in words
    copies = f"{reorder['copies']} copies" if reorder["copies"] > 1 else "1 copy"
    pours = f"{reorder['pours']} pours" if reorder["pours"] > 1 else "1 pour"
    assert f"{copies}, {pours}" in words
    assert f"{pours} {_in_words(reorder['latest_start'])}" in words
    assert "75 %" in words


def test_an_appliance_that_is_covered_has_no_order(season: Season) -> None:
    season.shoot(10)
    words = _words(_report(season))
    assert "Brow 3 – none 99.5 % – –" in words
    assert "! Brow" not in words


def test_an_order_out_of_reach_says_how_far_it_gets(season: Season) -> None:
    season.log(*((copy, "spoiled") for copy in season.show.copies))
    season.shoot(1)
    words = _words(_report(season))
    assert "cannot be made in time" in words
    assert re.search(r"at best \d", words)


def test_an_order_taken_on_stands_as_it_was_taken_on(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    (order,) = season.orders()
    shop = season.show.shop
    shop.send_ok(
        shop.entry("order", {"state": "taken_on"}, order["id"], order["revision"], seen=order["seq"])
    )
    season.shoot(13, 14, 15)
    words = _words(_report(season))
    assert re.search(rf"{order['document']['copies']} cop(y|ies), \d+ pours?, taken on", words)


def test_what_cannot_be_counted_stands_above_the_table(season: Season) -> None:
    """Two people of the shoot days ahead are missed by the cover: on paper too it is said, once each."""
    show, head = season.show, season.show.head
    nobody = head.entry("character", {"name": "The diver"})
    burn = head.entry("look", {"character": nobody["record"], "name": "Burn", "appliances": [show.appliance]})
    doubled = {"character": show.character, "look": show.look, "performer": show.other_performer}
    scene = head.entry(
        "scene", {"number": "43", "worn": [{"character": nobody["record"], "look": burn["record"]}, doubled]}
    )
    head.send_ok(nobody, burn, scene)
    season.shoot(10, 11, scenes=(show.scene, scene["record"]))
    words = _words(_report(season))
    diver = "! Not counted: The diver: Burn. Nobody plays the character yet."
    double = "! Not counted: Mara: Cut brow on Bo. No appliance of it is made for them."
    assert (words.count(diver), words.count(double), words.count("Not counted")) == (1, 1, 2)
    assert words.index(diver) < words.index("First day at risk")

    head.send_ok(head.edit(nobody, {"performer": show.performer}))
    assert "The diver" not in _words(_report(season))
    for ahead in (10, 11):
        season.cancel(ahead)
    assert "Not counted" not in _words(_report(season))


def test_every_role_may_have_it_and_it_stores_nothing(season: Season) -> None:
    season.shoot(10)
    before = table_counts()
    for role in ROLES:
        assert _read(_report(season, role)).pages
    assert table_counts() == before
    stranger = make_season().show.head
    assert stranger.account.client.get(season.show.head.path("cover/report")).status_code == 404


@pytest.mark.django_db
def test_a_production_without_appliances() -> None:
    account, _ = sign_up_head()
    production, _ = make_production(account, "Zażółć <b>& co</b> Ελένη Жуковский")
    answer = account.client.get(f"/api/productions/{production}/cover/report")
    words = _words(bytes(answer.content))
    assert "Zażółć <b>& co</b> Ελένη Жуковский" in words
    assert "There is no appliance yet." in words


def test_many_lines_go_on_with_their_headings_in_black_only() -> None:
    name = "A long name that goes on and on " * 4
    rows = [
        Row(n % 2 == 0, (f"{name}{n}", "3", "–", "2 March 2026", "75 %", "2 copies, 3 pours", "1 March 2026"))
        for n in range(60)
    ]
    content = report_page("Show", "Worked out today", rows)
    reader = _read(content)
    assert len(reader.pages) > 2
    for number, page in enumerate(reader.pages, 1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            (841.89, 595.28), abs=0.1
        )
        text = page.extract_text()
        assert "First day at risk" in " ".join(text.split())
        assert f"page {number} of {len(reader.pages)}" in text
        drawn = page.get_contents()
        assert drawn is not None
        colours = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", drawn.get_data())
        assert colours
        assert all(red == green == blue for red, green, blue in colours)
    whole = " ".join(_words(content).split())
    for n in range(60):
        assert f"on and on {n} 3" in whole
