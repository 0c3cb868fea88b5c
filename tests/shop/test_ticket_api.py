"""The cast ticket of an order and the vapour in a room, as a phone asks for them."""

from __future__ import annotations

import io
from decimal import Decimal
from typing import Any

import pytest
from pypdf import PdfReader

from continuity.shop.ticket_facts import ticket_pdf
from tests.builders import ROLES, Answer, Phone, Show, make_show, new_id, table_counts

Json = dict[str, Any]

# Constructed here on the common-practice example of 8 : 8 : 7.5 (no source).
RECIPE = {
    "copy_grams": 23.5,
    "parts_a": 8,
    "parts_b": 8,
    "deadener_parts": 7.5,
    "area_square_centimetres": 40,
    "coat_millilitres_per_100_square_centimetres": 2,
    "intrinsic_colour": [{"colour": "Flesh", "amount": 3, "unit": "drops", "per_grams": 100, "into": "a"}],
}


def edit(phone: Phone, kind: str, record: str, patch: Json) -> None:
    now = phone.record(record)
    phone.send_ok(phone.entry(kind, patch, record, now["revision"], seen=now["seq"]))


def an_order(show: Show, **more: Any) -> str:
    order = {"appliance": show.appliance, "mould": show.mould, "copies": 3, "pours": 5, "raised_by": "hand",
             "needed_on": "2026-12-10", "why": "A second unit", **more}  # fmt: skip
    return show.head.make("order", {name: value for name, value in order.items() if value is not None})


def ask(phone: Phone, order: str) -> Json:
    answer = phone.account.get(phone.path(f"orders/{order}/ticket"))
    assert answer.status == 200, answer.body
    return dict(answer.body)


@pytest.fixture
def shop(show: Show) -> Show:
    """The show with a recipe on its appliance, a gel, and a mould of four cavities."""
    gel = show.shop.make(
        "material",
        {"name": "Gel", "use": "gel_a", "pot_life_minutes": 6, "pot_life_celsius": 21, "cure_minutes": 60},
    )
    show.shop.make("material", {"name": "Cap plastic", "use": "cap_plastic", "coat_dry_minutes": 8})
    edit(show.shop, "appliance", show.appliance, {**RECIPE, "gel": gel})
    edit(show.shop, "mould", show.mould, {"cavities": 4})
    edit(show.head, "production", show.production, {"spray_room_cubic_metres": 50, "air_changes_per_hour": 6})
    return show


def test_the_ticket_of_an_order(shop: Show) -> None:
    """By hand as in `test_ticket.py`: 8.8, 8.8 and 8.3 g a pour; five pours are cycles of four and one."""
    ticket = ask(shop.shop, an_order(shop))
    assert (ticket["copies"], ticket["pours"], ticket["cycles"]) == (3, 5, [4, 1])
    assert (ticket["performer"], ticket["grade"], ticket["thinner"]) == ("Ana", "hero", "isopropyl_alcohol")
    gel = ticket["gel"]
    assert gel["of_one"] == {"a": "8.8", "b": "8.8", "deadener": "8.3", "total": "25.9"}
    assert [(mix["cycle"], mix["pours"], mix["gel"]["total"]) for mix in gel["mixes"]] == [
        (1, 4, "103.6"),
        (2, 1, "25.9"),
    ]
    assert gel["whole"] == {"a": "44.0", "b": "44.0", "deadener": "41.5", "total": "129.5"}
    assert ticket["pot_life"]["pours_in_one_mix"] == 6
    assert (ticket["cure_minutes"], ticket["coat_dry_minutes"]) == (60, 8)
    # 3 drops to 100 g of 44 g are 1.3 drops.
    assert [(line["name"], line["into"], line["in_all"]) for line in ticket["colours"]] == [
        ("Flesh", "a", "1")
    ]
    assert ticket["missing"] == []
    assert {limit["limit_ppm"] for limit in ticket["vapour"]["limits"]} == {400, 500, 2000}


def test_every_sum_in_the_answer_is_exact(shop: Show) -> None:
    ticket = ask(shop.shop, an_order(shop, pours=37))
    for part in ("a", "b", "deadener", "total"):
        mixes = sum(Decimal(mix["gel"][part]) for mix in ticket["gel"]["mixes"])
        assert mixes == Decimal(ticket["gel"]["whole"][part])
    whole = ticket["gel"]["whole"]
    assert Decimal(whole["a"]) + Decimal(whole["b"]) + Decimal(whole["deadener"]) == Decimal(whole["total"])
    coats = ticket["encapsulator"]
    sides = [cycle[side] for cycle in coats["cycles"] for side in ("in_mould", "on_back")]
    for part in ("cap_plastic", "thinner", "total"):
        assert sum(Decimal(side[part]) for side in sides) == Decimal(coats[part])


def test_by_hand_the_pours_are_those_the_yield_asks_for(shop: Show) -> None:
    """For 3 good copies at Beta(4, 1), 90 % sure. Against SciPy's beta-negative-binomial."""
    from scipy.stats import betanbinom

    ticket = ask(shop.shop, an_order(shop, pours=None))
    assert ticket["pours"] == 3 + int(betanbinom(3, 4, 1).ppf(0.9))
    # A run of ten without a good one: the mould yields less than was believed.
    run = shop.shop.record(shop.cast_run)
    poor = {"good": 0, "copies_planned": 10}
    shop.shop.send_ok(shop.shop.entry("cast_run", poor, shop.cast_run, run["revision"], seen=run["seq"]))
    assert ask(shop.shop, ticket["order"])["pours"] == 3 + int(betanbinom(3, 4, 11).ppf(0.9))


def test_no_mould_and_no_recipe_are_said(show: Show) -> None:
    ear = {"name": "Ear", "encapsulator": "acetone_soluble", "edge_solvent": "acetone"}
    appliance = show.shop.make("appliance", ear)
    ticket = ask(show.shop, an_order(show, appliance=appliance, mould=None))
    lines = {missing["line"] for missing in ticket["missing"]}
    assert lines == {"Cycles", "Pot life", "Grams", "Encapsulator", "Cure", "Vapour", "Drying of a coat"}
    assert (ticket["gel"], ticket["encapsulator"], ticket["mould"]) == (None, None, None)
    assert ticket["steps"]


def test_what_changes_on_the_appliance_changes_the_ticket(shop: Show) -> None:
    order = an_order(shop)
    edit(shop.shop, "appliance", shop.appliance, {"deadener_parts": 0})
    gel = ask(shop.shop, order)["gel"]
    # By hand: 25.85 g in two parts, 12.9 g each.
    assert gel["of_one"] == {"a": "12.9", "b": "12.9", "deadener": "0.0", "total": "25.8"}
    assert gel["ratio"] == "8 : 8"
    edit(shop.head, "production", shop.production, {"scale_resolution_grams": 0.01})
    assert ask(shop.shop, order)["gel"]["of_one"]["a"] == "12.93"


@pytest.mark.parametrize("role", ROLES)
def test_the_crew_sees_the_ticket(shop: Show, role: str) -> None:
    phone = shop.phone(role)
    order = an_order(shop)
    before = table_counts()
    assert ask(phone, order)["answer"] == "ticket"
    answer = phone.account.client.get(phone.path(f"orders/{order}/ticket.pdf"))
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/pdf")
    assert answer.headers["Cache-Control"] == "private, no-store"
    (page,) = PdfReader(io.BytesIO(answer.content)).pages
    assert "Cast ticket · The Long Winter" in page.extract_text()
    assert table_counts() == before


def test_the_mail_has_the_page_without_asking_for_a_production(shop: Show) -> None:
    from uuid import UUID

    assert ticket_pdf(UUID(an_order(shop))).startswith(b"%PDF-")


@pytest.mark.parametrize("rest", ["ticket", "ticket.pdf"])
def test_an_order_that_is_none_of_theirs(shop: Show, rest: str) -> None:
    order, other = an_order(shop), make_show("Another")
    for phone, asked in (
        (other.shop, shop.shop.path(f"orders/{order}/{rest}")),
        (other.shop, other.shop.path(f"orders/{order}/{rest}")),
        (shop.shop, shop.shop.path(f"orders/{new_id()}/{rest}")),
        (shop.shop, shop.shop.path(f"orders/{shop.appliance}/{rest}")),
        (shop.shop, shop.shop.path(f"orders/nonsense/{rest}")),
    ):
        answer: Answer = phone.account.get(asked)
        assert (answer.status, answer.body["code"]) == (404, "not_found")
    assert shop.shop.account.post(shop.shop.path(f"orders/{order}/{rest}"), {}).status == 405


# -- vapour --------------------------------------------------------------------------------------------------

ROOM = "room_cubic_metres=30&air_changes_per_hour=0"


def test_vapour_of_so_much_in_a_room(show: Show) -> None:
    """10 ml of isopropyl alcohol of 0.79 g/ml in a closed room of 30 m³: 7900 / 30 x 24.45 / 60.1 = 107.1
    ppm."""
    asked = f"vapour?solvent=isopropyl_alcohol&millilitres=10&minutes=5&{ROOM}"
    answer = show.set_artist.account.get(show.set_artist.path(asked))
    assert answer.status == 200, answer.body
    assert answer.body["peak_ppm"] == pytest.approx(107.13, abs=0.01)
    assert answer.body["peak_milligrams"] == pytest.approx(263.33, abs=0.01)
    assert "not a measurement" in " ".join(answer.body["words"])


def test_the_room_is_the_productions_unless_said(shop: Show) -> None:
    asked = "vapour?solvent=acetone&millilitres=100&minutes=20"
    answer = shop.shop.account.get(shop.shop.path(asked))
    assert (answer.body["room_cubic_metres"], answer.body["air_changes_per_hour"]) == (50, 6)
    elsewhere = shop.shop.account.get(shop.shop.path(f"{asked}&{ROOM}"))
    assert elsewhere.body["room_cubic_metres"] == 30


BAD = [
    ("", "solvent"),
    ("solvent=water&millilitres=1&minutes=1", "solvent"),
    ("solvent=acetone&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=0&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=-5&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=nan&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=1e3&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=٣&minutes=1", "millilitres"),
    ("solvent=acetone&millilitres=1&minutes=inf", "minutes"),
    ("solvent=acetone&millilitres=1&minutes=0", "minutes"),
    ("solvent=acetone&millilitres=1&minutes=1", "room_cubic_metres"),
    ("solvent=acetone&millilitres=1&minutes=1&room_cubic_metres=0", "room_cubic_metres"),
    ("solvent=acetone&millilitres=1&minutes=1&room_cubic_metres=50", "air_changes_per_hour"),
    (
        "solvent=acetone&millilitres=1&minutes=1&room_cubic_metres=50&air_changes_per_hour=x",
        "air_changes_per_hour",
    ),
]


@pytest.mark.parametrize(("query", "field"), BAD)
def test_what_cannot_be_screened(show: Show, query: str, field: str) -> None:
    answer = show.shop.account.get(show.shop.path(f"vapour?{query}"))
    assert (answer.status, answer.body["code"], answer.body["field"]) == (422, "not_a_request", field)
