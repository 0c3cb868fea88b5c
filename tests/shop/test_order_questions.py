"""What is taken on is not changed in silence: a change is a question, and the shop answers it. And orders
that a person raises."""

from __future__ import annotations

import datetime
from typing import Any
from uuid import UUID

import pytest

from continuity.cover.watch import look_once
from continuity.shop.documents import OrderDocument
from continuity.shop.order_question import Progress, with_question
from continuity.shop.selectors import progress_of
from tests.builders import assert_feed_is_whole, new_id
from tests.shop.season import Season, question

Json = dict[str, Any]


@pytest.fixture
def taken(season: Season) -> Season:
    """Three days at risk, and the shop has taken the order on."""
    season.shoot(10, 11, 12)
    look_once()
    assert season.write(season.order(), {"state": "taken_on"})["result"] == "stored"
    return season


def _asked(season: Season) -> Json:
    look_once()
    order = season.order()
    assert "question" in order["document"], order["document"]
    return order


def test_more_days_are_a_question_and_no_edit(taken: Season) -> None:
    before = taken.order()["document"]
    taken.shoot(13, 14)
    document = _asked(taken)["document"]
    assert document["copies"] == before["copies"]
    assert document["question"]["copies"] > before["copies"]
    assert "Covers 5 planned applications" in document["question"]["why"]
    assert "answer" not in document


def test_looking_twice_asks_once(taken: Season) -> None:
    taken.shoot(13, 14)
    order = _asked(taken)
    assert look_once() == 0
    taken.show.head.send_ok(taken.show.head.entry("unit", {"name": "Second"}))
    assert look_once() == 0
    assert taken.order() == order


def test_agreed_the_numbers_are_the_orders(taken: Season) -> None:
    taken.shoot(13, 14)
    order = _asked(taken)
    asked = order["document"]["question"]
    assert taken.write(order, {"answer": "agreed"})["result"] == "stored"
    now = taken.order()
    document = now["document"]
    assert (document["copies"], document["why"]) == (asked["copies"], asked["why"])
    assert (document["state"], "question" in document, "answer" in document) == ("taken_on", False, False)
    assert now["made_by"] == taken.show.shop.crew
    assert look_once() == 0
    assert_feed_is_whole(taken.show)


def test_declined_it_stands_and_is_not_asked_again_until_it_changes(taken: Season) -> None:
    taken.shoot(13, 14)
    order = _asked(taken)
    asked = order["document"]["question"]
    assert taken.write(order, {"answer": "declined"})["result"] == "stored"
    look_once()
    document = taken.order()["document"]
    assert (document["answer"], document["question"]["copies"]) == ("declined", asked["copies"])
    assert document["copies"] == order["document"]["copies"]
    taken.shoot(15, 16)
    document = _asked(taken)["document"]
    assert document["question"]["copies"] > asked["copies"]
    assert "answer" not in document


def test_a_question_that_is_no_longer_needed_is_withdrawn(taken: Season) -> None:
    taken.shoot(13, 14)
    _asked(taken)
    taken.cancel(13)
    taken.cancel(14)
    look_once()
    document = taken.order()["document"]
    assert ("question" in document, document["state"]) == (False, "taken_on")


def test_nothing_needed_any_more_asks_whether_to_call_it_off(taken: Season) -> None:
    for day in (10, 11, 12):
        taken.cancel(day)
    order = _asked(taken)
    assert (order["document"]["question"]["copies"], order["document"]["state"]) == (0, "taken_on")
    assert taken.write(order, {"answer": "agreed"})["result"] == "stored"
    assert taken.order()["document"]["state"] == "called_off"
    assert look_once() == 0


def test_copies_made_for_it_are_no_reason_to_ask(taken: Season) -> None:
    copies = taken.order()["document"]["copies"]
    for _ in range(copies):
        taken.add_copies(1, state="shop", expected_on=taken.date(5))
        look_once()
        assert "question" not in taken.order()["document"]


def test_runs_planned_before_it_was_asked_for_make_none_of_it(season: Season) -> None:
    show = season.show

    def run(**more: Any) -> Json:
        document = {"mould": show.mould, "appliance": show.appliance, "copies_planned": 2, **more}
        return show.shop.entry("cast_run", {**document, "cast_on": season.date(2), "due_on": season.date(5)})

    show.shop.send_ok(run())
    season.shoot(10, 11, 12)
    look_once()
    season.write(season.order(), {"state": "taken_on"})
    order = season.order()
    document = OrderDocument.model_validate(order["document"], strict=False)
    assert progress_of(UUID(order["id"]), document) == Progress(0, 0)
    show.shop.send_ok(run(copies_planned=1), run(copies_planned=4, order=order["id"]))
    assert progress_of(UUID(order["id"]), document) == Progress(0, 5)
    show.head.send_ok(season.by_hand())
    [other] = [one["id"] for one in season.orders() if one["id"] != order["id"]]
    show.shop.send_ok(run(copies_planned=1, order=other))
    assert progress_of(UUID(order["id"]), document) == Progress(0, 5)


def test_sooner_is_a_question_too(taken: Season) -> None:
    before = taken.order()["document"]
    taken.log(*((copy, "spoiled") for copy in taken.show.copies))
    document = _asked(taken)["document"]
    assert document["question"]["needed_on"] < before["needed_on"] == document["needed_on"]


def test_an_answer_to_what_was_asked_before_does_not_count(taken: Season) -> None:
    """The shop answers with no network, and meanwhile something else is asked."""
    taken.shoot(13, 14)
    seen = _asked(taken)
    taken.shoot(15, 16, 17)
    look_once()
    now = taken.order()
    assert now["document"]["question"]["copies"] > seen["document"]["question"]["copies"]
    result = taken.write(seen, {"answer": "agreed"})
    assert (result["result"], result["code"], result["field"]) == ("refused", "question_changed", "answer")
    assert taken.order() == now
    assert taken.write(now, {"answer": "agreed"})["result"] == "stored"


def test_an_answer_to_a_question_that_is_gone_does_not_count(taken: Season) -> None:
    taken.shoot(13, 14)
    seen = _asked(taken)
    taken.cancel(13)
    taken.cancel(14)
    look_once()
    assert taken.write(seen, {"answer": "agreed"})["code"] == "question_changed"


@pytest.mark.parametrize(("role", "code"), [("set_artist", "not_allowed"), ("continuity", "not_allowed")])
def test_who_answers(taken: Season, role: str, code: str) -> None:
    taken.shoot(13, 14)
    order = _asked(taken)
    result = taken.write(order, {"answer": "agreed"}, role)
    assert (result["result"], result["code"]) == ("refused", code)


def test_given_back_it_follows_the_cover_again(taken: Season) -> None:
    taken.shoot(13, 14)
    order = _asked(taken)
    assert taken.write(order, {"state": "asked_for"})["result"] == "stored"
    assert "question" not in taken.order()["document"]
    look_once()
    assert taken.order()["document"]["copies"] > order["document"]["copies"]


def test_while_a_run_is_due_fewer_are_not_asked_for() -> None:
    """Constructed here: of six copies in eight pours four are poured, their result not known."""
    document = {
        "appliance": new_id(), "mould": new_id(), "copies": 6, "pours": 8, "needed_on": "2026-12-14",
        "possible": True, "p_covered_now": 0.5, "best_p_covered": 0.99, "why": "Why", "state": "casting",
    }  # fmt: skip
    order = OrderDocument.model_validate(document, strict=False)
    now = datetime.datetime(2026, 12, 1, tzinfo=datetime.UTC)

    def copies(wanted: int | None, made: int, due: int) -> int | None:
        want = order.model_copy(update={"copies": wanted, "pours": 9}) if wanted else None
        asked = with_question(order, want, Progress(made, due), now).question
        return asked.copies if asked else None

    assert copies(3, 0, 4) is None
    assert copies(None, 0, 4) is None
    # Seven beside those due, of which three are good as the order reckons.
    assert copies(7, 0, 4) == 10
    assert copies(4, 2, 0) is None
    assert copies(3, 2, 0) == 5
    assert copies(None, 2, 0) == 2
    assert copies(None, 0, 0) == 0
    assert copies(None, 9, 0) is None
    assert copies(5, 2, 0) == 7


# -- by hand ---------------------------------------------------------------------------------------------


def test_an_order_by_hand_stands_beside_the_covers(season: Season) -> None:
    season.shoot(10, 11, 12)
    season.show.shop.send_ok(season.by_hand("shop"), season.by_hand("shop", copies=2))
    look_once()
    raised = sorted(order["document"]["raised_by"] for order in season.orders())
    assert raised == ["cover", "hand", "hand"]
    assert look_once() == 0
    cover_raised = next(order for order in season.orders() if order["document"]["raised_by"] == "cover")
    assert season.cover()["order"] == cover_raised["id"]


def test_while_it_is_asked_for_its_numbers_change_and_then_they_are_asked(season: Season) -> None:
    season.show.head.send_ok(season.by_hand())
    assert season.write(season.order(), {"copies": 6, "grade": None}, "shop")["result"] == "stored"
    assert season.write(season.order(), {"state": "taken_on"})["result"] == "stored"
    order = season.order()
    assert order["document"]["copies"] == 6
    for patch in ({"copies": 8}, {"needed_on": season.date(2)}, {"why": "Because"}):
        result = season.write(order, patch, "department_head")
        assert (result["result"], result["code"]) == ("refused", "not_allowed")
    asked = question(copies=8)
    assert season.write(order, {"question": asked}, "shop")["code"] == "not_allowed"
    assert season.write(order, {"question": asked}, "department_head")["result"] == "stored"
    assert season.write(season.order(), {"answer": "agreed"})["result"] == "stored"
    document = season.order()["document"]
    assert (document["copies"], document["needed_on"]) == (8, asked["needed_on"])
    look_once()
    assert season.order()["document"] == document


def test_a_question_anew_has_no_answer_yet(season: Season) -> None:
    season.show.head.send_ok(season.by_hand())
    season.write(season.order(), {"state": "taken_on"})
    season.write(season.order(), {"question": question()}, "department_head")
    season.write(season.order(), {"answer": "declined"})
    again: Json = {"question": question(copies=9)}
    assert season.write(season.order(), again, "department_head")["code"] == "not_allowed"
    again["answer"] = None
    assert season.write(season.order(), again, "department_head")["result"] == "stored"


@pytest.mark.parametrize(
    ("role", "more", "code"),
    [
        ("set_artist", {}, "not_allowed"),
        ("continuity", {}, "not_allowed"),
        ("shop", {"state": "taken_on"}, "no_such_step"),
        ("shop", {"raised_by": "cover"}, "not_allowed"),
        ("shop", {"possible": True}, "not_allowed"),
        ("shop", {"question": question()}, "not_allowed"),
        ("shop", {"answer": "agreed"}, "not_allowed"),
    ],
)
def test_what_is_not_raised_by_hand(season: Season, role: str, more: Json, code: str) -> None:
    result = season.show.phone(role).send(season.by_hand(role, **more))[0]
    assert (result["result"], result["code"]) == ("refused", code)
    assert season.orders() == []


def test_taken_back_as_long_as_it_is_asked_for(season: Season) -> None:
    season.show.head.send_ok(season.by_hand(), second := season.by_hand())
    first = season.orders()[0]
    assert season.write(first, {}, "department_head", withdrawn="Twice")["result"] == "stored"
    season.show.shop.send_ok(season.show.shop.edit(second, {"state": "taken_on"}))
    (order,) = [each for each in season.orders() if each["id"] == second["record"]]
    assert season.write(order, {}, "department_head", withdrawn="Twice")["code"] == "not_allowed"
