"""What goes out is written in the transaction of the order it tells of, and says what the shop needs."""

from __future__ import annotations

import datetime
import json
from typing import Any
from zoneinfo import ZoneInfo

from continuity.cover.watch import look_once
from continuity.deliveries.models import Outgoing
from continuity.schedule.models import Production
from tests.builders import HAPPENED_AT, new_id
from tests.deliveries.sending import raise_order, step, told
from tests.shop.season import Season, question

Json = dict[str, Any]
WEBHOOK = "https://203.0.113.7/orders"


def _messages() -> list[Json]:
    return [json.loads(each.payload) for each in Outgoing.objects.order_by("written_at", "sequence", "id")]


def _types() -> list[str]:
    return [message["type"] for message in _messages()]


def _there(season: Season, moment: str) -> str:
    """On the clocks where it is shot."""
    zone = ZoneInfo(Production.objects.get(id=season.id).time_zone)
    return datetime.datetime.fromisoformat(moment).astimezone(zone).isoformat()


def test_nobody_is_told_when_nobody_asked(season: Season) -> None:
    raise_order(season)
    assert _messages() == []


def test_each_state_is_told_by_whom_and_in_words(season: Season) -> None:
    told(season, "webhook", WEBHOOK)
    order = raise_order(season)
    for state in ("taken_on", "casting", "sent", "arrived"):
        step(season, order, state=state)
    assert _types() == [f"order.{state}" for state in ("asked_for", "taken_on", "casting", "sent", "arrived")]
    first = _messages()[0]["data"]
    assert first == {
        "order": order,
        "revision": season_revision(order, 1),
        "sequence": 1,
        "words": "Asked for: 4 mid copies of Brow for Ana",
        "appliance": "Brow",
        "performer": "Ana",
        "production": first["production"],
        "grade": "mid",
        "copies": 4,
        "needed_on": season.date(20),
        "why": "For the poster",
        "raised_by": "hand",
        "state": "asked_for",
        "by": "Head",
        "said_at": _there(season, HAPPENED_AT),
        "link": f"https://trailer.example/#/shop/{order}",
        "changed": [],
    }
    assert [message["data"]["sequence"] for message in _messages()] == [1, 2, 3, 4, 5]
    assert _messages()[1]["data"]["changed"] == ["state"]


def season_revision(order: str, sequence: int) -> str:
    from continuity.sync.models import Entry

    entries = Entry.objects.filter(record=order).order_by("seq")
    return str(entries[sequence - 1].id)


def test_the_covers_order_its_question_and_the_answer(season: Season) -> None:
    told(season, "webhook", WEBHOOK)
    season.shoot(10, 11, 12)
    look_once()
    order = season.order()
    step(season, order["id"], state="taken_on")
    season.shoot(13, 14)
    look_once()
    asked = season.order()["document"]["question"]
    step(season, order["id"], answer="agreed")
    assert _types() == ["order.asked_for", "order.taken_on", "order.question", "order.answered"]
    raised, _, question_told, answered = [message["data"] for message in _messages()]
    assert (raised["by"], question_told["by"], answered["by"]) == (
        "the cover", "the cover", "Head",
    )  # fmt: skip
    assert question_told["question"]["copies"] == asked["copies"] == answered["copies"]
    assert (answered["answer"], "question" in answered) == ("agreed", False)
    assert answered["words"].startswith("The shop has agreed: ")


def test_what_only_moves_a_chance_is_not_told(season: Season) -> None:
    """A day far off that is covered changes the sentence and the chances, and not what is to be made."""
    told(season, "webhook", WEBHOOK)
    season.shoot(10, 11, 12)
    look_once()
    before = season.order()["document"]
    season.add_copies(1, use_by=season.date(1))
    look_once()
    after = season.order()["document"]
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed <= {"why", "p_covered_now", "best_p_covered"}
    assert _types() == ["order.asked_for"]


def test_taken_back_is_called_off(season: Season) -> None:
    told(season, "webhook", WEBHOOK)
    raise_order(season)
    season.write(season.orders()[0], {}, "department_head", withdrawn="Entered twice")
    assert _types() == ["order.asked_for", "order.called_off"]
    assert _messages()[1]["data"]["state"] == "called_off"


def test_what_is_refused_goes_nowhere(season: Season) -> None:
    """In one push: a good order, and one whose second line is refused after it was half written."""
    told(season, "webhook", WEBHOOK)
    order = raise_order(season)
    (now,) = season.orders()
    assert season.write(now, {"state": "arrived"}, "department_head")["code"] == "no_such_step"
    assert season.write(now, {"copies": 0}, "department_head")["code"] == "not_a_document"
    head = season.show.head
    step_entry = head.entry("order", {"state": "taken_on"}, order, now["revision"], seen=now["seq"])
    bad = head.entry("order", {"state": "arrived"}, order, now["revision"], seen=now["seq"])
    assert [result["result"] for result in head.send(bad, step_entry)] == ["refused", "stored"]
    assert _types() == ["order.asked_for", "order.taken_on"]


def test_a_repeat_is_not_told_twice(season: Season) -> None:
    told(season, "webhook", WEBHOOK)
    entry = season.by_hand()
    head = season.show.head
    assert [head.send(entry)[0]["result"] for _ in range(3)] == ["stored", "repeat", "repeat"]
    assert _types() == ["order.asked_for"]


def test_every_destination_of_this_production_and_no_other(season: Season) -> None:
    from tests.shop.season import make_season

    other = make_season()
    told(season, "webhook", WEBHOOK)
    told(season, "email", "shop@workshop.example")
    told(other, "email", "other@workshop.example")
    raise_order(season)
    addresses = Outgoing.objects.values_list("destination__address", flat=True)
    assert sorted(addresses) == sorted([WEBHOOK, "shop@workshop.example"])


def test_a_destination_that_was_removed_hears_nothing_more(season: Season) -> None:
    found = told(season, "webhook", WEBHOOK)
    order = raise_order(season)
    head = season.show.head
    assert head.account.raw("DELETE", head.path(f"destinations/{found['id']}"), b"").status == 200
    step(season, order, state="taken_on")
    assert list(Outgoing.objects.values_list("state", "sequence")) == [("given_up", 1)]
    # The same address again is a new destination with a secret of its own.
    again = told(season, "webhook", WEBHOOK)
    assert again["secret"] != found["secret"]


def test_nothing_of_anyones_health_goes_out(season: Season) -> None:
    """The performer of this appliance has an allergy, told in a word that stands nowhere else."""
    told(season, "webhook", WEBHOOK)
    show = season.show
    performer = show.head.record(show.performer)
    allergy = {"allergies": {new_id(): {"substance": "colophonium-xyz", "note": "swells"}}}
    show.head.send_ok(
        show.head.entry("performer", allergy, show.performer, performer["revision"], seen=performer["seq"])
    )
    season.shoot(10, 11, 12)
    look_once()
    step(season, season.order()["id"], state="taken_on")
    sent = " ".join(Outgoing.objects.values_list("payload", flat=True))
    assert "Ana" in sent
    assert "xyz" not in sent
    assert "swells" not in sent


def test_a_question_by_hand(season: Season) -> None:
    told(season, "webhook", WEBHOOK)
    order = raise_order(season)
    step(season, order, state="taken_on")
    step(season, order, question=question(copies=9))
    step(season, order, answer="declined")
    assert _types()[2:] == ["order.question", "order.answered"]
    assert _messages()[3]["data"]["answer"] == "declined"
