"""What is left of each lot, drawn down by cast runs and applications, and never twice."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from continuity.stock.models import Draw
from tests.builders import ROLES, Phone, Show, assert_feed_is_whole, make_show, new_id, table_counts
from tests.shop.season import Season

Json = dict[str, Any]


def edit(phone: Phone, kind: str, record: str, patch: Json, **more: Any) -> None:
    now = phone.record(record)
    phone.send_ok(phone.entry(kind, patch, record, now["revision"], seen=now["seq"], **more))


def left(show: Show, material: str) -> float | None:
    told = show.continuity.record(material)["derived"].get("left")
    return None if told is None else float(told["amount"])


def counted(show: Show, material: str, **more: Any) -> None:
    """A lot of 100 ml, of which an application takes 5."""
    patch = {"amount": 100, "unit": "millilitres", "amount_per_application": 5, **more}
    edit(show.set_artist, "material", material, patch)


def worn(show: Show, *copies: str, **more: Any) -> Json:
    adhesives = {new_id(): {"zone": zone, "material": show.adhesive} for zone in ("brow", "edge")}
    return show.application(*copies, adhesives=adhesives, edge_solvent=show.edge_solvent, **more)


# -- applications --------------------------------------------------------------------------------------------


def test_an_application_draws_a_lot_down_once(show: Show) -> None:
    """By hand: 100 ml less 5 for each sheet, however many zones it went to."""
    counted(show, show.adhesive)
    counted(show, show.edge_solvent, amount=50, amount_per_application=2)
    assert (left(show, show.adhesive), left(show, show.edge_solvent)) == (100, 50)
    first, second = worn(show, show.copies[0]), worn(show, show.copies[1])
    show.set_artist.send_ok(first, second)
    assert (left(show, show.adhesive), left(show, show.edge_solvent)) == (90, 46)
    assert_feed_is_whole(show)


def test_a_repeated_entry_counts_once(show: Show) -> None:
    counted(show, show.adhesive)
    entry = worn(show, show.copies[0])
    show.set_artist.send_ok(entry)
    assert [result["result"] for result in show.set_artist.send(entry, entry)] == ["repeat", "repeat"]
    assert left(show, show.adhesive) == 95
    assert Draw.objects.filter(source=entry["record"]).count() == 2


def test_a_sheet_taken_back_gives_it_back(show: Show) -> None:
    counted(show, show.adhesive)
    entry = worn(show, show.copies[0])
    show.set_artist.send_ok(entry)
    show.set_artist.send_ok(show.set_artist.edit(entry, {}, withdrawn="Wrong performer"))
    assert left(show, show.adhesive) == 100
    assert not Draw.objects.exists()


def test_another_lot_on_the_sheet_moves_what_it_took(show: Show) -> None:
    other = show.head.make("material", {"name": "Face gum", "use": "adhesive", "lot": "2"})
    counted(show, show.adhesive)
    counted(show, other)
    entry = worn(show, show.copies[0])
    show.set_artist.send_ok(entry)
    (first, second) = entry["patch"]["adhesives"]
    moved = show.set_artist.edit(entry, {"adhesives": {first: {"material": other}, second: None}})
    show.set_artist.send_ok(moved)
    assert (left(show, show.adhesive), left(show, other)) == (100, 95)
    show.set_artist.send_ok(show.set_artist.edit(moved, {"touch_ups": {}}))
    assert (left(show, show.adhesive), left(show, other)) == (100, 95)


def test_an_amount_written_later_counts_what_was_used_before(show: Show) -> None:
    show.set_artist.send_ok(worn(show, show.copies[0]), worn(show, show.copies[1]))
    assert left(show, show.adhesive) is None
    counted(show, show.adhesive)
    assert left(show, show.adhesive) == 90
    edit(show.set_artist, "material", show.adhesive, {"amount_per_application": 7.5})
    assert left(show, show.adhesive) == 85
    edit(show.set_artist, "material", show.adhesive, {"amount": None})
    assert left(show, show.adhesive) is None


def test_offline_sheets_of_two_phones_all_count(show: Show) -> None:
    counted(show, show.adhesive)
    theirs = [worn(show, show.copies[0], phone=show.head), worn(show, show.copies[1], phone=show.head)]
    mine = worn(show, show.copies[2])
    show.head.send_ok(*theirs)
    show.set_artist.send_ok(mine)
    assert left(show, show.adhesive) == 85


def test_what_is_refused_takes_nothing(show: Show) -> None:
    counted(show, show.adhesive)
    bad = show.application(new_id(), adhesives={new_id(): {"zone": "brow", "material": show.adhesive}})
    good = worn(show, show.copies[0])
    results = show.set_artist.send(bad, good)
    assert [result["result"] for result in results] == ["refused", "stored"]
    assert left(show, show.adhesive) == 95


# -- cast runs -----------------------------------------------------------------------------------------

RECIPE = {"copy_grams": 23.5, "parts_a": 8, "parts_b": 8, "deadener_parts": 7.5,
          "area_square_centimetres": 40, "coat_millilitres_per_100_square_centimetres": 2}  # fmt: skip
STARTED = "2026-11-25T09:00:00+00:00"


@pytest.fixture
def lots(show: Show) -> dict[str, str]:
    """A lot of 1000 g of each part of the gel, and of 500 ml of cap plastic, by use."""
    edit(show.shop, "appliance", show.appliance, RECIPE)
    return {
        use: show.shop.make("material", {"name": use, "use": use, "amount": amount, "unit": unit})
        for use, amount, unit in (
            ("gel_a", 1000, "grams"),
            ("gel_b", 1000, "grams"),
            ("deadener", 1000, "grams"),
            ("cap_plastic", 500, "millilitres"),
        )
    }


def pours(*weights: tuple[float, float, float]) -> Json:
    names = ("a_grams", "b_grams", "deadener_grams")
    return {new_id(): dict(zip(names, weighed, strict=True)) for weighed in weights}


def used(*materials: str, **amounts: float) -> Json:
    found: Json = {new_id(): {"material": material} for material in materials}
    return found | {
        new_id(): {"material": material, "amount": amount} for material, amount in amounts.items()
    }


def test_a_run_draws_down_what_was_weighed(show: Show, lots: dict[str, str]) -> None:
    """By hand: 17.6 and 8.9 g of A are 26.5 g."""
    run = {"started_at": STARTED, "lots": used(*lots.values()),
           "pours": pours((17.6, 17.6, 16.6), (8.9, 8.8, 8.3))}  # fmt: skip
    edit(show.shop, "cast_run", show.cast_run, run)
    assert left(show, lots["gel_a"]) == pytest.approx(973.5)
    assert left(show, lots["gel_b"]) == pytest.approx(973.6)
    assert left(show, lots["deadener"]) == pytest.approx(975.1)
    # Nobody weighs what is sprayed. Two copies in the mould: 2 x 40 cm² x 4 coats x 2 ml / 100 cm² are 6.4
    # ml, of them a sixth, 1.07: 2 ml; the same on the back.
    assert left(show, lots["cap_plastic"]) == 496


def test_nothing_weighed_counts_as_the_ticket_says(show: Show, lots: dict[str, str]) -> None:
    """By hand: 8.8, 8.8 and 8.3 g a pour, twice."""
    edit(show.shop, "cast_run", show.cast_run, {"lots": used(*lots.values())})
    assert left(show, lots["gel_a"]) == 1000
    edit(show.shop, "cast_run", show.cast_run, {"started_at": STARTED})
    assert left(show, lots["gel_a"]) == pytest.approx(982.4)
    assert left(show, lots["deadener"]) == pytest.approx(983.4)
    edit(show.shop, "cast_run", show.cast_run, {"good": 2})
    assert left(show, lots["gel_a"]) == pytest.approx(982.4)


def test_a_lots_own_amount_counts_before_all(show: Show, lots: dict[str, str]) -> None:
    """Two lots of A: one gave 10 g, the other the rest of the 26.5 g."""
    other = show.shop.make("material", {"name": "gel_a", "use": "gel_a", "amount": 300, "unit": "grams"})
    own = {new_id(): {"material": other, "amount": 10}, new_id(): {"material": lots["gel_a"]}}
    run = {"started_at": STARTED, "pours": pours((26.5, 26.5, 25)), "lots": own}
    edit(show.shop, "cast_run", show.cast_run, run)
    assert (left(show, other), left(show, lots["gel_a"])) == pytest.approx((290, 983.5))


def test_a_run_taken_back_gives_it_back(show: Show, lots: dict[str, str]) -> None:
    run = {"started_at": STARTED, "lots": used(lots["gel_a"]), "pours": pours((20, 20, 20))}
    edit(show.shop, "cast_run", show.cast_run, run)
    assert left(show, lots["gel_a"]) == 980
    edit(show.shop, "cast_run", show.cast_run, {}, withdrawn="Never cast")
    assert left(show, lots["gel_a"]) == 1000


def test_a_lot_nobody_said_an_amount_of_is_warned_of(show: Show, lots: dict[str, str]) -> None:
    release = show.shop.make("material", {"name": "Wax", "use": "release", "amount": 1, "unit": "pieces"})
    edit(show.shop, "cast_run", show.cast_run, {"started_at": STARTED, "lots": used(release)})
    (warning,) = show.shop.record(show.cast_run)["derived"]["warnings"]
    assert (warning["code"], warning["words"]) == (
        "lot_amount_missing",
        "How much of Wax went in is not said.",
    )
    assert left(show, release) == 1


# -- what is answered ----------------------------------------------------------------------------------


def stock(phone: Phone) -> dict[str, Json]:
    answer = phone.account.get(phone.path("materials/stock"))
    assert answer.status == 200, answer.body
    return {material["name"]: material for material in answer.body["materials"]}


def test_until_when_it_lasts_by_the_schedule(season: Season) -> None:
    """By hand: the last sheet of the look took 5 ml; 12 ml serve two of the three days planned."""
    show = season.show
    gum = {new_id(): {"zone": "brow", "material": show.adhesive}}
    sheet = show.sheet(show.copies[0], date=season.date(-3), adhesives=gum)
    show.set_artist.make("application", sheet)
    counted(show, show.adhesive, amount=17)
    season.shoot(2, 4, 9)
    found = stock(show.continuity)["Face gum"]
    assert (found["standing"], found["usable"], found["expected"]) == ("short", 12, 15)
    assert (found["lasts_until"], found["first_day_short"]) == (season.date(8), season.date(9))
    day = season.today + datetime.timedelta(days=8)
    assert found["words"].startswith(f"Lasts until {day.day} {day:%B %Y}: 12 ml left, 15 ml expected")
    edit(show.set_artist, "material", show.adhesive, {"amount": 40, "low_below": 50})
    low = stock(show.continuity)["Face gum"]
    assert (low["standing"], low["lasts_until"]) == ("low", None)
    assert low["words"].startswith("Running low, under 50 ml. Lasts for all that is planned: 35 ml left")


def test_an_order_is_expected_to_take_its_gel(season: Season) -> None:
    """By hand: 4 pours of 8.8 g are 35.2 g of A, where 30 are left."""
    show = season.show
    edit(show.shop, "appliance", show.appliance, RECIPE)
    show.shop.make("material", {"name": "Gel, A", "use": "gel_a", "amount": 30, "unit": "grams"})
    order = {"appliance": show.appliance, "mould": show.mould, "copies": 3, "pours": 4, "raised_by": "hand",
             "needed_on": season.date(20), "latest_start": season.date(6), "why": "By hand"}  # fmt: skip
    show.head.make("order", order)
    found = stock(show.shop)["Gel, A"]
    assert (found["expected"], found["first_day_short"]) == (35.2, season.date(6))
    run = {"mould": show.mould, "appliance": show.appliance, "cast_on": season.date(0),
           "due_on": season.date(1), "copies_planned": 2, "started_at": STARTED,
           "order": show.shop.records("order")[0]["id"]}  # fmt: skip
    show.shop.make("cast_run", run)
    assert stock(show.shop)["Gel, A"]["expected"] == 17.6


def test_past_its_date_and_past_its_life_once_opened(season: Season) -> None:
    show = season.show
    for name, more in (
        ("Old", {"expires_on": season.date(-1)}),
        (
            "Open long",
            {"opened_on": season.date(-40), "opened_life_days": 30, "expires_on": season.date(300)},
        ),
        ("Soon", {"opened_on": season.date(-20), "opened_life_days": 30}),
        ("Fresh", {"opened_on": season.date(-2), "opened_life_days": 30}),
    ):
        lot = {"name": name, "use": "sealer", "amount": 10, "unit": "millilitres", **more}
        show.shop.make("material", lot)
    found = stock(show.shop)
    words = {name: found[name]["lots"][0]["words"] for name in ("Old", "Open long", "Soon", "Fresh")}
    assert words["Old"].startswith("Past its date, ")
    assert words["Open long"].startswith("Past its date, ")
    assert words["Soon"].startswith("Keeps until ")
    assert words["Fresh"] is None
    assert (found["Old"]["usable"], found["Soon"]["usable"]) == (0, 10)


def test_more_written_down_than_there_was_is_said(show: Show) -> None:
    counted(show, show.adhesive, amount=3)
    show.set_artist.send_ok(worn(show, show.copies[0]))
    assert left(show, show.adhesive) == -2
    (lot,) = stock(show.shop)["Face gum"]["lots"]
    assert lot["words"] == "2 ml more written down than there was: weigh what is left."
    assert stock(show.shop)["Face gum"]["usable"] == 0


def test_what_took_from_a_lot(show: Show, lots: dict[str, str]) -> None:
    counted(show, show.adhesive)
    entry = worn(show, show.copies[0])
    show.set_artist.send_ok(entry)
    answer = show.continuity.account.get(show.continuity.path(f"materials/{show.adhesive}/draws"))
    assert answer.body["draws"] == [
        {
            "kind": "application",
            "record": entry["record"],
            "date": "2026-11-25",
            "amount": 5.0,
            "words": "Ana, Cut brow",
        }
    ]
    run = {"started_at": STARTED, "lots": used(lots["gel_a"]), "pours": pours((20, 20, 20))}
    edit(show.shop, "cast_run", show.cast_run, run)
    answer = show.shop.account.get(show.shop.path(f"materials/{lots['gel_a']}/draws"))
    (draw,) = answer.body["draws"]
    assert (draw["kind"], draw["record"], draw["amount"], draw["words"]) == (
        "cast_run", show.cast_run, 20.0, "Cast run, Brow",
    )  # fmt: skip


@pytest.mark.parametrize("role", ROLES)
def test_the_crew_sees_the_stock_and_nobody_else(show: Show, role: str) -> None:
    phone, other = show.phone(role), make_show("Another")
    before = table_counts()
    assert set(stock(phone)) == {"Face gum", "Edge melt", "Blood red"}
    for path in ("materials/stock", f"materials/{show.adhesive}/draws"):
        assert other.head.account.get(phone.path(path)).status == 404
        assert phone.account.post(phone.path(path), {}).status == 405
    for material in (other.adhesive, new_id(), show.scene, "nonsense"):
        assert phone.account.get(phone.path(f"materials/{material}/draws")).status == 404
    assert table_counts() == before


# -- what is weighed -----------------------------------------------------------------------------------


def weighed(season: Season, *found: tuple[int, float]) -> None:
    """The adhesive was weighed on these days from today."""
    weighings = {new_id(): {"left": left, "weighed_on": season.date(day)} for day, left in found}
    edit(season.show.set_artist, "material", season.show.adhesive, {"weighings": weighings})


def worn_on(season: Season, *ahead: int) -> None:
    """A sheet with the adhesive on each of these days from today."""
    gum = {new_id(): {"zone": "brow", "material": season.show.adhesive}}
    copies = season.add_copies(len(ahead))
    season.show.set_artist.send_ok(
        *(
            season.show.set_artist.entry(
                "application", season.show.sheet(copy, date=season.date(day), adhesives=gum)
            )
            for copy, day in zip(copies, ahead, strict=True)
        )
    )


def test_what_is_weighed_counts_from_the_evening_on(season: Season) -> None:
    """By hand: 100 ml less 5 for each of three sheets; weighed, 80 on day -2, and one sheet later."""
    show = season.show
    counted(show, show.adhesive)
    worn_on(season, -3, -2, -1)
    assert left(show, show.adhesive) == 85
    weighed(season, (-2, 80.0))
    assert left(show, show.adhesive) == 75
    # A sheet that comes late, of a day before the weighing, was in it.
    worn_on(season, -4)
    assert left(show, show.adhesive) == 75
    worn_on(season, 0)
    assert left(show, show.adhesive) == 70
    assert_feed_is_whole(show)


def test_a_lot_that_was_only_weighed_is_counted(season: Season) -> None:
    show = season.show
    edit(show.set_artist, "material", show.adhesive, {"unit": "millilitres", "amount_per_application": 4})
    worn_on(season, -3, -1)
    assert left(show, show.adhesive) is None
    weighed(season, (-2, 30.0))
    assert left(show, show.adhesive) == 26


def test_how_sure_it_is_that_it_lasts(season: Season) -> None:
    """By hand: 3, 5 and 4 ml, an application each, are 4 in the mean with a standard deviation of 1; two
    planned take 8, and 12 ml are left: 4 more, by a scale of sqrt(2 + 4/3). Student's t of two degrees of
    freedom: 1/2 + x / (2 sqrt(2 + x²)), with x = 4 / 1.826 = 2.191, is 0.920."""
    show = season.show
    counted(show, show.adhesive, amount=24)
    season.shoot(2, 4)
    worn_on(season, -6, -4, -2)
    first = stock(show.continuity)["Face gum"]
    assert (first["sure"], first["expected"]) == (None, 10)
    assert first["words"].endswith("it takes 3, and there are no measurements of what was left.")
    weighed(season, (-5, 21.0), (-3, 16.0))
    second = stock(show.continuity)["Face gum"]
    assert second["sure"] is None
    assert second["words"].endswith("it takes 3, and there are 2 measurements of what was left.")
    weighed(season, (-1, 12.0))
    third = stock(show.continuity)["Face gum"]
    assert third["sure"] == pytest.approx(0.920, abs=5e-4)
    assert (third["expected"], third["usable"], third["lasts_until"]) == (8, 12, None)
    assert third["words"] == (
        "Lasts for all that is planned: 12 ml left, 8 ml expected. 92 % sure to the end of what is planned, "
        "by 3 measurements: 4 ml an application."
    )


def test_weighed_alike_tells_no_scatter(season: Season) -> None:
    show = season.show
    counted(show, show.adhesive, amount=27)
    season.shoot(2)
    worn_on(season, -6, -4, -2)
    weighed(season, (-5, 23.0), (-3, 19.0), (-1, 15.0))
    found = stock(show.continuity)["Face gum"]
    assert found["sure"] is None
    assert found["words"].endswith("How sure that is cannot be told: the measurements are all alike.")
