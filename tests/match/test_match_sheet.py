"""The match sheet, read back: its words, its photos, its code."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from django.conf import settings
from PIL import Image
from pypdf import PdfReader

from continuity.match.sheet_page import LookSheet, SheetPhoto, marked, match_sheet
from tests.builders import Answer, Json, Phone, Show, add_crew, new_id, photo, photos, sha256_of
from tests.match.test_measuring import make_up
from tests.photos.worker import prepare_photos

STEPS = [
    {"zone": "Wound", "mix": "2:1 red to yellow", "tool": "Sponge"},
    {"zone": "Edge", "mix": "skin tone, thin"},
]


def ask(phone: Phone, **query: str) -> Answer:
    words = "&".join(f"{name}={value}" for name, value in query.items())
    return phone.account.get(phone.path(f"match-sheet?{words}"))


def words_of(content: bytes) -> str:
    reader = PdfReader(io.BytesIO(content))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def drawn_in(reader: PdfReader) -> list[Any]:
    """The photos, as numbers; the code is smaller."""
    found = [image.image for page in reader.pages for image in page.images]
    return [np.asarray(one.convert("RGB")).astype(int) for one in found if one and one.width > 600]


def pages(content: bytes) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(content)
    return [page.render(scale=2.5).to_pil() for page in document]


@pytest.fixture
def established(show: Show) -> Json:
    """A look with all there is to say of it: the first entry of its established application."""
    recipe = show.set_artist.make("recipe", show.recipe(steps=STEPS, version=3))
    front = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1)
    close = make_up((0.28, 0.15, 0.11), (0.7, 0.75, 0.9), 2)
    bare = make_up((0.5, 0.1, 0.1), (1, 1, 1), 3)
    sheet = show.application(
        show.copies[0],
        adhesives={new_id(): {"zone": "Whole edge", "material": show.adhesive}},
        edge_solvent=show.edge_solvent,
        recipe=recipe,
        note="The left corner lifts in the heat.",
        skin_after="Red under the edge",
        photos=photos(
            photo(close, angle="close_up", scene=show.scene),
            photo(front, angle="front"),
            photo(bare, angle="profile_left", moment="removed"),
        ),
    )
    show.set_artist.send_ok(sheet)
    for raw in (front, close, bare):
        show.set_artist.send_file(raw)
    prepare_photos()
    look = show.continuity.record(show.look)
    show.continuity.send_ok(
        show.continuity.entry(
            "look",
            {"established": sheet["record"], "order_of_work": "Brow first, then the paint."},
            show.look,
            look["revision"],
        )
    )
    return sheet


def test_what_is_needed_to_match_is_on_it(show: Show, established: Json) -> None:
    other = show.application(show.copies[1], date="2026-11-27")
    show.set_artist.send_ok(other)
    pin = {"sha256": sha256_of(b""), "x": 0.4, "y": 0.5, "words": "This corner is too red"}
    show.continuity.make(
        "verdict",
        {
            "application": other["record"],
            "verdict": "does_not_match",
            "against": established["record"],
            "note": "Darker than on Wednesday.",
            "pins": {new_id(): pin},
        },
    )
    answer = ask(show.shop, look=show.look)
    assert answer.status == 200
    words = words_of(answer.content)
    for wanted in (
        "Mara: Cut brow",
        "Ana",
        "Established on 25 November 2026",
        "B1, Brow, hero",
        "Whole edge: Face gum",
        "Edge melt",
        "Cut, fresh, version 3",
        "2:1 red to yellow",
        "Sponge",
        "Brow first, then the paint.",
        "The left corner lifts in the heat.",
        "27 November 2026: Does not match. Darker than on Wednesday. This corner is too red",
        "Front",
        "Close-up",
        "scene 42",
        "for shop",
        "page 1 of 1",
    ):
        assert wanted in words, wanted
    assert "Red under the edge" not in words
    assert "B2" not in words


def test_of_the_verdicts_the_newest_that_stands_counts_and_the_newest_comes_first(show: Show) -> None:
    first, second = show.application(date="2026-11-25"), show.application(date="2026-11-26")
    show.set_artist.send_ok(first, second)

    def say(sheet: Json, verdict: str, note: str, at: str) -> Json:
        document = {"application": sheet["record"], "verdict": verdict, "note": note}
        entry = show.continuity.entry("verdict", document, happened_at=f"2026-11-27T{at}:00+00:00")
        show.continuity.send_ok(entry)
        return entry

    # The phone that said the newer one had a network first.
    newer = say(first, "does_not_match", "Newer", "09:00")
    say(first, "matches", "Older", "08:00")
    say(second, "matches", "Between", "08:30")
    words = words_of(ask(show.shop, look=show.look).content)
    assert "Older" not in words
    assert words.index("25 November 2026: Does not match. Newer") < words.index("Between")
    show.continuity.send_ok(show.continuity.edit(newer, {}, withdrawn="The wrong photo"))
    words = words_of(ask(show.shop, look=show.look).content)
    assert "Newer" not in words
    assert words.index("Between") < words.index("25 November 2026: Matches. Older")
    show.set_artist.send_ok(show.set_artist.edit(second, {}, withdrawn="Never worn"))
    assert "Between" not in words_of(ask(show.shop, look=show.look).content)


def test_the_photo_of_an_angle_is_the_best_moment_s_and_wanted_angles_come_first(show: Show) -> None:
    moments = {"applied": 0.1, "on_set": 0.2, "before": 0.3, "after": 0.4}
    fronts = {moment: make_up((shade, 0.1, 0.1), (1, 1, 1), 1) for moment, shade in moments.items()}
    profile = make_up((0.5, 0.1, 0.1), (1, 1, 1), 1)
    manifests = [
        photo(raw, angle="front", moment=moment, taken_at=f"2026-11-25T1{at}:00:00+00:00")
        for at, (moment, raw) in enumerate(fronts.items())
    ]
    side = photo(profile, angle="profile_left", taken_at="2026-11-25T09:00:00+00:00")
    show.set_artist.send_ok(show.application(photos=photos(*manifests, side)))
    for raw in (*fronts.values(), profile):
        show.set_artist.send_file(raw)
    prepare_photos()
    words = words_of(ask(show.shop, look=show.look).content)
    assert words.count("Front") == 1
    assert "Front 25 November 2026, 10:00" in words, "as it was applied, though the others are newer"
    assert words.index("Front") < words.index("Profile left")
    look = show.head.record(show.look)
    wanted = {"wanted_angles": ["profile_left", "front"]}
    show.head.send_ok(show.head.entry("look", wanted, show.look, look["revision"]))
    words = words_of(ask(show.shop, look=show.look).content)
    assert words.index("Profile left") < words.index("Front")


def test_the_code_opens_the_look(show: Show, established: Json) -> None:
    (page,) = pages(ask(show.shop, look=show.look).content)
    (code,) = zxingcpp.read_barcodes(page)
    assert code.text == f"http://testserver/#/match/{show.look}"
    grey = zxingcpp.read_barcodes(page.convert("L").resize((page.width // 2, page.height // 2)))
    assert [each.text for each in grey] == [code.text], "from a small print without colours"


@pytest.mark.parametrize("role", ["shop", "set_artist", "department_head"])
def test_no_photo_of_the_skin_after_removal(show: Show, established: Json, role: str) -> None:
    reader = PdfReader(io.BytesIO(ask(show.phone(role), look=show.look).content))
    assert len(drawn_in(reader)) == 2
    assert "Profile" not in words_of(ask(show.phone(role), look=show.look).content)


def test_every_photo_carries_the_viewer_s_name(show: Show, established: Json) -> None:
    """In its pixels, lightly: one viewer's differ from another's, and the picture stays."""
    drawn = {
        role: drawn_in(PdfReader(io.BytesIO(ask(show.phone(role), look=show.look).content)))
        for role in ("shop", "continuity")
    }
    for one, other in zip(*(sorted(each, key=np.mean) for each in drawn.values()), strict=True):
        assert (np.abs(one - other).max(axis=2) > 12).mean() > 0.005
        assert np.abs(one - other).mean() < 10


def test_every_photo_carries_the_date() -> None:
    plain = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1)
    one, other = (
        np.asarray(Image.open(io.BytesIO(marked(plain, f"Ana · {date}")))).astype(int)
        for date in ("25 November 2026", "26 November 2026")
    )
    assert (np.abs(one - other).max(axis=2) > 12).any()
    assert np.abs(one - other).mean() < 1


def test_a_viewer_whose_name_the_typeface_has_not(show: Show, established: Json) -> None:
    """Of the account's name there are letters; question marks would say nobody."""
    viewer = add_crew(show.head, "shop", "李小龙")
    reader = PdfReader(io.BytesIO(ask(viewer, look=show.look).content))
    assert f"for ??? ({viewer.username})" in words_of(ask(viewer, look=show.look).content)
    others = drawn_in(PdfReader(io.BytesIO(ask(show.shop, look=show.look).content)))
    for one, other in zip(drawn_in(reader), others, strict=True):
        assert (np.abs(one - other).max(axis=2) > 12).mean() > 0.005


def test_the_same_file_as_a_photo_of_the_skin_after_removal_is_not_on_it(
    show: Show, established: Json
) -> None:
    """The same photo, sent once as what was applied and once as what was under it: nobody knows which."""
    raw = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1)
    assert len(drawn_in(PdfReader(io.BytesIO(ask(show.head, look=show.look).content)))) == 2
    show.set_artist.send_ok(show.application(photos=photos(photo(raw, moment="removed")), date="2026-11-27"))
    for role in ("department_head", "set_artist", "shop"):
        content = ask(show.phone(role), look=show.look).content
        assert len(drawn_in(PdfReader(io.BytesIO(content)))) == 1, role
        assert "Front" not in words_of(content)


def test_a_photo_that_cannot_be_read_gives_way_to_another_of_its_angle(show: Show) -> None:
    good, bad = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1), b"no picture"
    show.set_artist.send_ok(
        show.application(
            photos=photos(
                photo(bad, angle="front", moment="applied"), photo(good, angle="front", moment="on_set")
            )
        )
    )
    for raw in (good, bad):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert len(drawn_in(PdfReader(io.BytesIO(ask(show.shop, look=show.look).content)))) == 1


def test_a_storage_that_is_away_makes_no_sheet_without_photos(show: Show, established: Json) -> None:
    """A folder in the photo's place: an error as storages have them, and not that there is no such file."""
    for path in Path(settings.MEDIA_ROOT).rglob("large.webp"):
        path.unlink()
        path.mkdir()
    answer = ask(show.shop, look=show.look)
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (503, "server_busy", True)


def test_the_mark_shows_on_dark_and_on_light() -> None:
    for code in (0, 40, 128, 255):
        plain = io.BytesIO()
        Image.new("RGB", (800, 600), (code, code, code)).save(plain, "PNG")
        seen = np.asarray(Image.open(io.BytesIO(marked(plain.getvalue(), "Ana · Wed 25 November"))))
        changed = np.abs(seen.astype(int) - code).max(axis=2)
        assert (changed > 15).mean() > 0.01, code
        assert changed.max() < 110, code


def test_a_look_nobody_has_worn(show: Show) -> None:
    answer = ask(show.continuity, look=show.look)
    words = words_of(answer.content)
    assert "Not applied yet" in words
    assert "Brow" in words


def test_without_an_established_one_the_last(show: Show) -> None:
    show.set_artist.send_ok(
        show.application(show.copies[0], date="2026-11-25"),
        show.application(show.copies[1], date="2026-11-26"),
    )
    words = words_of(ask(show.continuity, look=show.look).content)
    assert "Nothing is established. This is the last application, of 26 November 2026" in words
    assert "B2, Brow, hero" in words


def test_a_shoot_day_has_a_page_for_each_look_of_which_it_knows(show: Show, established: Json) -> None:
    other = show.head.make(
        "look", {"character": show.character, "name": "Healed", "note": "A shade paler than the skin."}
    )
    bare = show.head.make("look", {"character": show.character, "name": "Before the accident"})
    worn = [{"character": show.character, "look": look} for look in (bare, other, show.look)]
    scene = show.head.make("scene", {"number": "7A", "worn": worn})
    day = show.head.record(show.shoot_day)
    scenes = [{"scene": scene}, {"scene": show.scene}]
    show.head.send_ok(show.head.entry("shoot_day", {"scenes": scenes}, show.shoot_day, day["revision"]))
    content = ask(show.set_artist, shoot_day=show.shoot_day).content
    found = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    assert len(found) == 2
    assert "Mara: Healed" in found[0]
    assert "Scene 7A" in found[0]
    assert "Mara: Cut brow" in found[1]
    assert "Scenes 7A, 42" in found[1]


def test_a_day_without_looks(show: Show) -> None:
    day = show.head.make(
        "shoot_day", {"date": "2026-12-01", "unit": show.unit, "crew_call": "07:00", "wrap": "18:00"}
    )
    assert "No look is worn on this day." in words_of(ask(show.head, shoot_day=day).content)


def test_the_longest_look_has_two_pages(show: Show) -> None:
    """Whatever people write: constructed here."""
    recipe = show.set_artist.make(
        "recipe",
        show.recipe(
            steps=[
                {
                    "zone": f"Zone {n}",
                    "mix": "two parts of red to one of yellow, stippled with torn foam",
                    "tool": "brush",
                }
                for n in range(100)
            ]
        ),
    )
    raw = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1)
    sides = ("three_quarter_left", "three_quarter_right", "profile_left", "profile_right")
    show.set_artist.send_ok(
        show.application(
            *show.copies,
            recipe=recipe,
            note="Word " * 900,
            recipe_differences="Other " * 800,
            adhesives={new_id(): {"zone": f"Zone {n}", "material": show.adhesive} for n in range(8)},
            photos=photos(*(photo(raw, angle=angle) for angle in ("front", *sides, "close_up"))),
        )
    )
    show.set_artist.send_file(raw)
    prepare_photos()
    look = show.head.record(show.look)
    show.head.send_ok(
        show.head.entry(
            "look", {"order_of_work": "First this. " * 300, "note": "n " * 2000}, show.look, look["revision"]
        )
    )
    content = ask(show.head, look=show.look).content
    assert len(PdfReader(io.BytesIO(content)).pages) == 2
    assert "and 80 more steps, in the app" in words_of(content)


def _endless() -> LookSheet:
    """As long as the fields allow, and in the widest of letters."""
    wide = ("W" * 40 + " ") * 120
    picture = make_up((0.28, 0.15, 0.11), (1, 1, 1), 1)
    return LookSheet(
        title="W" * 200,
        below=wide[:600],
        standing=wide[:500],
        address="https://set.example/#/match/" + new_id(),
        photos=[SheetPhoto(picture, "Front\n25 November 2026")] * 6,
        facts=[(heading, [wide[:700]] * 12) for heading in ("Copies", "Adhesive", "Sealer", "Remover")],
        recipe=wide[:200],
        steps=[(wide[:200], wide[:500], wide[:200])] * 60,
        order_of_work=wide,
        notes=[(heading, wide) for heading in ("Look", "This application", "Unlike the recipe")],
        verdicts=[wide] * 9,
    )


def test_no_look_has_more_than_two_pages_and_the_second_says_whose_it_is() -> None:
    short = LookSheet("Mara: Healed", "Ana", "Not applied yet", "https://set.example/", photos=(), facts=())
    content = match_sheet("A day", [_endless(), short, _endless()], viewer="Ana", date="25 November 2026")
    found = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    assert len(found) == 5
    assert [("continued" in page) for page in found] == [False, True, False, False, True]
    assert "Mara: Healed" in found[2]
    # What does not fit is said, and nothing of it runs out at the foot.
    assert "more steps, in the app" in found[1]
    assert all(f"page {number} of 5" in page for number, page in enumerate(found, 1))


@pytest.mark.parametrize(
    ("query", "status", "code"),
    [
        ({}, 422, "not_a_request"),
        ({"look": "x"}, 422, "not_a_request"),
        ({"shoot_day": "../../etc"}, 422, "not_a_request"),
        ({"look": ""}, 422, "not_a_request"),
        ({"look": new_id()}, 404, "not_found"),
        ({"shoot_day": new_id()}, 404, "not_found"),
        ({"look": new_id(), "shoot_day": new_id()}, 422, "not_a_request"),
    ],
)
def test_what_is_no_sheet(show: Show, query: dict[str, str], status: int, code: str) -> None:
    answer = ask(show.head, **query)
    assert (answer.status, answer.body["code"]) == (status, code)


def test_another_production_s_look(show: Show, other_show: Any) -> None:
    answer = ask(show.head, look=other_show.look)
    assert (answer.status, answer.body["code"]) == (404, "not_found")


@pytest.fixture
def other_show(db: None) -> Show:
    from tests.builders import make_show

    return make_show("Theirs")
