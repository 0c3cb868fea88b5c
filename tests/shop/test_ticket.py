"""The cast ticket: its figures, its page, and what it says of what nobody has said."""

from __future__ import annotations

import dataclasses
import datetime
import io
import re
from decimal import Decimal
from typing import Any

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from continuity.shop.pot_life import Known
from continuity.shop.ticket import Bench, Colour, Piece, Ticket, make_ticket
from continuity.shop.ticket_page import Heading, ticket_page
from continuity.stock.edge import Encapsulator

D = Decimal
BROW = Piece(
    encapsulator=Encapsulator.ALCOHOL_SOLUBLE,
    copy_grams=D("23.5"),
    parts_a=D(8),
    parts_b=D(8),
    deadener_parts=D("7.5"),
    area=D(40),
    coats_in_mould=4,
    coats_on_back=3,
    coat_millilitres=D(2),
    cap_plastic_parts=D(1),
    thinner_parts=D(5),
    colours=(Colour("Flesh", D(2), "grams", D(100), "all"), Colour("Blue", D(3), "drops", D(100), "a")),
    has_gel=True,
    pot_life=Known(6, 23),
    cure=Known(60, 23),
    coat_dry_minutes=10,
)
BENCH = Bench(
    step=D("0.1"),
    waste_percent=D(10),
    tolerance_percent=D(2),
    celsius=23,
    stirring_seconds=60,
    seconds_a_cavity=60,
    room_cubic_metres=60,
    air_changes=6,
)
HEADING = Heading(
    "The Long Winter", "Cut brow, left", "Ana", "hero", "Brow mould", 5,
    datetime.date(2026, 3, 14), datetime.date(2026, 3, 10), "3 spares for 5 copies needed by 12 March.",
)  # fmt: skip


def _of(**more: Any) -> Ticket:
    return make_ticket(dataclasses.replace(BROW, **more), BENCH, 7, 4)


def test_a_ticket_worked_out_by_hand() -> None:
    """Constructed here on the common-practice example of 8 : 8 : 7.5 (no source). 23.5 g and 10 % are 25.85
    g: 8.8, 8.8 and 8.25 g, on a scale of 0.1 g 8.3. Of 6 minutes 60 s go to stirring: five cavities of 60
    s. Four coats of 2 ml on 40 cm² are 3.2 ml a copy: 12.8 ml for four, of them a sixth cap plastic, 2.13:
    3 ml with 15 ml of alcohol; for three 9.6 ml, 1.6: 2 ml with 10. On the back three coats: 9.6 and 7.2
    ml: 2 and 2 ml, with 10 and 10.
    """
    ticket = _of()
    assert ticket.cycles == (4, 3)
    assert ticket.pot_life is not None
    assert ticket.pot_life.pours_in_one_mix == 5
    assert ticket.gel is not None
    assert [(mix.cycle, mix.pours, mix.gel.a, mix.gel.deadener) for mix in ticket.gel.mixes] == [
        (1, 4, D("35.2"), D("33.2")),
        (2, 3, D("26.4"), D("24.9")),
    ]
    assert ticket.gel.whole.total == D("181.3")
    assert ticket.encapsulator is not None
    assert [
        (cycle.in_mould.cap_plastic, cycle.in_mould.thinner, cycle.on_back.cap_plastic, cycle.on_back.thinner)
        for cycle in ticket.encapsulator.cycles
    ] == [(D(3), D(15), D(2), D(10)), (D(2), D(10), D(2), D(10))]
    assert (ticket.encapsulator.cap_plastic, ticket.encapsulator.thinner) == (D(9), D(45))
    # 2 g to 100 g, into 61.6 g of A, 61.6 of B and 58.1 of deadener; 3 drops to 100 g of A.
    assert [(line.name, line.into, line.in_all) for line in ticket.colours] == [
        ("Flesh", "a", D("1.2")),
        ("Flesh", "b", D("1.2")),
        ("Flesh", "deadener", D("1.2")),
        ("Blue", "a", D(2)),
    ]
    assert (ticket.cure_minutes, ticket.coat_dry_minutes) == (60, 10)
    assert not ticket.missing


def test_the_order_of_work_has_its_coats_and_waits() -> None:
    """The order is that of the trade: release, encapsulate, pour, cure, encapsulate, demould (common
    practice)."""
    steps = {step.what: step for step in _of().steps}
    assert list(steps) == [
        "Make ready", "Release the mould", "Encapsulate the mould", "Colour A, B and deadener", "Weigh",
        "Mix and pour", "Cure", "Encapsulate the back", "Demould", "Look at each copy",
    ]  # fmt: skip
    assert (steps["Encapsulate the mould"].times, steps["Encapsulate the mould"].minutes) == (4, 10)
    assert steps["Encapsulate the back"].words.startswith("3 coats")
    assert (steps["Mix and pour"].minutes, steps["Cure"].minutes) == (6, 60)
    bare_back = {step.what for step in _of(coats_on_back=0).steps}
    assert "Encapsulate the back" not in bare_back


def test_a_hot_room_means_more_and_smaller_mixes() -> None:
    """By hand: 33 °C halves 6 minutes to 3; 60 s of stirring leave 120 s, two cavities."""
    ticket = make_ticket(BROW, dataclasses.replace(BENCH, celsius=33), 7, 4)
    assert ticket.pot_life is not None
    assert (ticket.pot_life.minutes, ticket.pot_life.pours_in_one_mix) == (3, 2)
    assert ticket.gel is not None
    assert [mix.pours for mix in ticket.gel.mixes] == [2, 2, 2, 1]
    assert ticket.cure_minutes == 30
    hotter = make_ticket(BROW, dataclasses.replace(BENCH, celsius=34), 7, 4)
    assert hotter.pot_life is None
    assert {missing.line for missing in hotter.missing} == {"Pot life", "Cure"}
    assert all("more than 10 °C apart" in missing.words for missing in hotter.missing)


def test_it_sets_before_one_cavity_is_filled() -> None:
    ticket = _of(pot_life=Known(1.5, 23))
    assert ticket.gel is not None
    assert [mix.pours for mix in ticket.gel.mixes] == [1] * 7
    assert any("sets before one cavity is filled" in caution for caution in ticket.cautions)


MISSING: list[tuple[dict[str, Any], str]] = [
    ({"copy_grams": None}, "Grams"),
    ({"deadener_parts": None}, "Grams"),
    ({"area": None}, "Encapsulator"),
    ({"coat_millilitres": None}, "Encapsulator"),
    ({"pot_life": None}, "Pot life"),
    ({"cure": None}, "Cure"),
    ({"coat_dry_minutes": None}, "Drying of a coat"),
]


@pytest.mark.parametrize(("gone", "line"), MISSING)
def test_what_nobody_said_is_named_and_not_guessed(gone: dict[str, Any], line: str) -> None:
    ticket = _of(**gone)
    said = {missing.line: missing.words for missing in ticket.missing}
    assert line in said
    assert said[line]
    whole = _of()
    untouched = {
        "Grams": ("encapsulator", "pot_life", "cure_minutes"),
        "Encapsulator": ("gel", "colours", "pot_life", "cure_minutes"),
        "Pot life": ("encapsulator", "cure_minutes", "colours"),
        "Cure": ("gel", "encapsulator", "pot_life"),
        "Drying of a coat": ("gel", "encapsulator", "pot_life", "cure_minutes"),
    }[line]
    for name in untouched:
        assert getattr(ticket, name) == getattr(whole, name)
    absent = {"Grams": "gel", "Encapsulator": "encapsulator", "Pot life": "pot_life", "Cure": "cure_minutes"}
    if line in absent:
        assert getattr(ticket, absent[line]) is None


def test_no_room_to_spray_in_is_said() -> None:
    ticket = make_ticket(BROW, dataclasses.replace(BENCH, air_changes=None), 7, 4)
    assert ticket.vapour is None
    assert [missing.line for missing in ticket.missing] == ["Vapour"]


def test_a_closed_trailer_is_warned_of_with_the_limit_that_applies() -> None:
    """Constructed here: 800 cm² a copy are 4 x 64 = 256 ml for a cycle of four, of them 43 ml cap plastic
    with 215 of alcohol: 258 ml over 40 min into 12 m³ without air are 258 x 0.79 g / 12 m³ = 16985 mg/m³,
    6910 ppm."""
    closed = dataclasses.replace(BENCH, room_cubic_metres=12, air_changes=0)
    vapour = make_ticket(dataclasses.replace(BROW, area=D(800)), closed, 7, 4).vapour
    assert vapour is not None
    assert vapour.millilitres == 258
    assert vapour.screening.peak_ppm == pytest.approx(6910, abs=2)
    words = " ".join(vapour.words)
    assert "recommended, over 15 minutes (500 ppm; NIOSH Pocket Guide" in words
    assert "permitted, over 8 hours (400 ppm; 29 CFR 1910.1000, Table Z-1" in words
    assert "A tenth of the lower explosive limit or more" in words
    assert "A screening figure, not a measurement" in words


@pytest.mark.parametrize(
    "encapsulator", [Encapsulator.FOAM_LATEX, Encapsulator.GELATINE, Encapsulator.PRESSED_ACRYLIC]
)
def test_what_is_no_gel_gets_no_grams_of_one(encapsulator: Encapsulator) -> None:
    ticket = _of(encapsulator=encapsulator)
    assert (ticket.gel, ticket.encapsulator, ticket.pot_life, ticket.colours) == (None, None, None, ())
    assert [missing.line for missing in ticket.missing] == ["Gel"]
    assert ticket.steps


def test_cautions_defer_to_the_data_sheet() -> None:
    """What inhibits platinum silicone, gloves, flammables, ventilation: common practice, no source."""
    words = " ".join(_of().cautions)
    for inhibits in ("natural latex", "ammonia", "sulphur clay", "amines", "tin-cured silicone"):
        assert inhibits in words
    for caution in ("Nitrile gloves, never latex", "highly flammable", "Never spray in a closed trailer",
                    "safety data sheets, local rules and licensed practice decide"):  # fmt: skip
        assert caution in words
    acetone = " ".join(_of(encapsulator=Encapsulator.ACETONE_SOLUBLE).cautions)
    assert "Acetone is highly flammable" in acetone
    assert "99 % alcohol" not in acetone


def test_a_scale_that_is_too_coarse_is_said() -> None:
    """By hand: 2 g of 8 : 8 : 7.5 with 10 % are 0.75, 0.75 and 0.70 g; in steps of 0.5 g 1.0, 1.0 and 0.5."""
    coarse = dataclasses.replace(BENCH, step=D("0.5"))
    ticket = make_ticket(dataclasses.replace(BROW, copy_grams=D(2)), coarse, 7, 4)
    assert any("off its ratio" in caution for caution in ticket.cautions)
    none_at_all = make_ticket(dataclasses.replace(BROW, copy_grams=D("0.1")), coarse, 7, 4)
    assert any("less than the scale" in caution for caution in none_at_all.cautions)
    assert not any("scale" in caution for caution in _of().cautions)


# -- the page ----------------------------------------------------------------------------------------------


def _words(content: bytes) -> str:
    (page,) = PdfReader(io.BytesIO(content)).pages
    return " ".join(page.extract_text().split())


def test_the_page_has_every_figure_of_the_ticket() -> None:
    ticket = _of()
    words = _words(ticket_page(HEADING, BROW, BENCH, ticket))
    for said in ("Cut brow, left", "Ana, hero grade, Brow mould", "Tue 10 Mar", "Sat 14 Mar", "181.3",
                 "3 spares for 5 copies", "8 : 8 : 7.5", "Cap plastic", "99 % alcohol", "1 : 5"):  # fmt: skip
        assert said in words
    for step in ticket.steps:
        assert step.what in words
    for caution in ticket.cautions:
        assert caution in words


def test_the_sums_on_the_page_add_up() -> None:
    """Read from the page: of each row of grams the parts are the total, and the rows are the last row."""
    words = _words(ticket_page(HEADING, BROW, BENCH, make_ticket(BROW, BENCH, 61, 4)))
    row = re.compile(r"(?:mix for (\d+) pours?(?:, × (\d+))?|in all) (\d+\.\d) (\d+\.\d) (\d+\.\d) (\d+\.\d)")
    rows = row.findall(words)
    assert len(rows) == 3
    sums = [D(0)] * 4
    for pours, times, *grams in rows:
        weights = [D(weight) for weight in grams]
        assert sum(weights[:3]) == weights[3]
        if pours:
            sums = [so_far + int(times or 1) * weight for so_far, weight in zip(sums, weights, strict=True)]
        else:
            assert weights == sums


colours_said = st.builds(
    Colour,
    st.text(min_size=1, max_size=200),
    st.just(D(3)),
    st.sampled_from(["drops", "grams"]),
    st.just(D(100)),
    st.sampled_from(["a", "all"]),
)


@settings(max_examples=25)
@given(st.integers(1, 400), st.integers(1, 12), st.text(max_size=400), st.lists(colours_said, max_size=30))
def test_it_is_one_page_whatever_is_on_it(pours: int, cavities: int, why: str, colours: list[Colour]) -> None:
    piece = dataclasses.replace(BROW, colours=tuple(colours))
    content = ticket_page(
        dataclasses.replace(HEADING, why=why, note=why),
        piece,
        BENCH,
        make_ticket(piece, BENCH, pours, cavities),
    )
    document = pypdfium2.PdfDocument(content)
    assert len(document) == 1
    # Nothing runs over the foot of the page: its last centimetre is white.
    picture = document[0].render(scale=1).to_pil().convert("L")
    assert picture.crop((0, picture.height - 28, *picture.size)).getextrema() == (255, 255)
