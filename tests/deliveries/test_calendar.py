"""The shop's calendar, read back by the `icalendar` package; the rules of RFC 5545 are from memory."""

from __future__ import annotations

import datetime
import re
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from continuity.cover.watch import look_once
from continuity.deliveries.calendar import CalendarOrder, calendar_of
from continuity.shop.documents import OrderDocument
from tests.builders import Account, new_id
from tests.deliveries.sending import raise_order, step
from tests.shop.season import Season, make_season, question

Json = dict[str, Any]


def _path(season: Season, role: str = "shop") -> str:
    phone = season.show.phone(role)
    answer = phone.account.get(phone.path("calendar"))
    assert answer.status == 200, answer.body
    return str(answer.body["path"])


def _read(path: str) -> tuple[bytes, Any]:
    # With no session: a calendar program cannot sign in.
    answer = Account().client.get(path)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    calendar: Any = Calendar.from_ical(answer.content)
    _check(answer.content, calendar)
    return answer.content, calendar


def _check(text: bytes, calendar: Any) -> None:
    """Section 3.1: lines end in CRLF and have at most 75 octets. Sections 3.6, 3.6.1, 3.8: what must be
    there, once, and what values may be."""
    lines = text.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    text.decode("utf-8")
    assert (calendar["VERSION"], calendar["PRODID"][:2]) == ("2.0", "-/")
    assert calendar.name == "VCALENDAR"
    assert calendar["REFRESH-INTERVAL"].dt == datetime.timedelta(hours=1)
    assert b"X-PUBLISHED-TTL:PT1H\r\n" in text
    events = calendar.walk("VEVENT")
    assert len({event["UID"] for event in events}) == len(events)
    for event in events:
        assert event.errors == []
        for name in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "STATUS", "SUMMARY"):
            assert not isinstance(event[name], list), name
        assert event["STATUS"] in {"TENTATIVE", "CONFIRMED", "CANCELLED"}
        assert event["DTSTAMP"].dt.tzinfo is not None
        assert b"DTSTART;VALUE=DATE:" in event.to_ical()
        assert event["DTEND"].dt - event["DTSTART"].dt == datetime.timedelta(days=1)
        assert re.fullmatch(rb"[\x20-\x7e\r\n\x80-\xff]*", event.to_ical())


def _event(season: Season, order: str) -> Any:
    _, calendar = _read(_path(season))
    (found,) = [event for event in calendar.walk("VEVENT") if event["UID"] == f"{order}@continuity"]
    return found


def test_an_order_is_an_event_on_its_latest_start(season: Season) -> None:
    season.shoot(10, 11, 12)
    look_once()
    order = season.order()
    event = _event(season, order["id"])
    assert event["DTSTART"].dt == datetime.date.fromisoformat(order["document"]["latest_start"])
    assert event["SUMMARY"] == f"Latest start: {order['document']['copies']} hero Brow for Ana"
    assert order["document"]["why"] in event["DESCRIPTION"]
    assert (event["STATUS"], event["SEQUENCE"]) == ("TENTATIVE", 0)
    assert event["URL"] == f"https://trailer.example/#/shop/{order['id']}"
    assert event["DTSTAMP"].dt == datetime.datetime.fromisoformat(order["received_at"]).replace(microsecond=0)


def test_each_change_is_a_higher_sequence_of_the_same_event(season: Season) -> None:
    order = raise_order(season, latest_start=season.date(4))
    sequences, states = [], []
    for patch in ({}, {"state": "taken_on"}, {"question": question(copies=9)}, {"answer": "agreed"}):
        if patch:
            step(season, order, **patch)
        event = _event(season, order)
        sequences.append(event["SEQUENCE"])
        states.append(event["STATUS"])
    assert sequences == sorted(set(sequences))
    assert states == ["TENTATIVE", "CONFIRMED", "CONFIRMED", "CONFIRMED"]
    # It is wanted sooner, and nobody has said when to start it for that.
    assert _event(season, order)["SUMMARY"].startswith("Needed on set: 9 mid Brow")


def test_called_off_is_cancelled_and_sent_is_gone(season: Season) -> None:
    off, sent = raise_order(season), raise_order(season)
    before = _event(season, off)["SEQUENCE"]
    step(season, off, state="called_off")
    step(season, sent, state="taken_on")
    step(season, sent, state="sent")
    event = _event(season, off)
    assert (event["STATUS"], event["SEQUENCE"] > before) == ("CANCELLED", True)
    _, calendar = _read(_path(season))
    assert [event["UID"] for event in calendar.walk("VEVENT")] == [f"{off}@continuity"]


def test_what_was_taken_back_is_cancelled_too(season: Season) -> None:
    order = raise_order(season)
    season.write(season.order(), {}, "department_head", withdrawn="Twice")
    assert _event(season, order)["STATUS"] == "CANCELLED"


def test_words_that_could_break_a_line(season: Season) -> None:
    why = "Rain, wind; \\ and\r\nBEGIN:VEVENT " + "snow – " * 60
    order = raise_order(season, why=why.strip())
    _, calendar = _read(_path(season))
    assert len(calendar.walk("VEVENT")) == 1
    assert "BEGIN:VEVENT snow" in _event(season, order)["DESCRIPTION"]


def test_unchanged_it_is_not_sent_again(season: Season) -> None:
    order = raise_order(season)
    path, client = _path(season), Account().client
    first = client.get(path)
    tag = first["ETag"]
    for given in (tag, f"W/{tag}", f'"other", {tag}'):
        again = client.get(path, headers={"if-none-match": given})
        assert (again.status_code, again.content, again["ETag"]) == (304, b"", tag)
    step(season, order, state="taken_on")
    changed = client.get(path, headers={"if-none-match": tag})
    assert changed.status_code == 200
    assert changed["ETag"] != tag
    assert client.head(path).status_code == 200


def test_a_renewed_address_ends_the_old_one(season: Season) -> None:
    raise_order(season)
    old = _path(season)
    head = season.show.head
    answer = head.account.post(head.path("calendar"), {})
    assert answer.status == 201
    assert answer.body["path"] not in {old, ""}
    assert Account().client.get(old).status_code == 404
    assert _path(season) == answer.body["path"]
    _read(answer.body["path"])


def test_nobody_guesses_it(season: Season) -> None:
    path = _path(season)
    assert len(path.removeprefix("/calendar/").removesuffix(".ics")) >= 43
    client = Account().client
    for wrong in (path[:-5] + "x.ics", "/calendar/x.ics", "/calendar/%00.ics", path.swapcase()):
        answer = client.get(wrong)
        assert answer.status_code == 404
    for method in (client.post, client.put, client.delete):
        assert method(path).status_code == 405


def test_only_this_productions_orders(season: Season) -> None:
    other = make_season()
    raise_order(other, why="Another show's secret")
    raise_order(season)
    text, calendar = _read(_path(season))
    assert len(calendar.walk("VEVENT")) == 1
    assert b"secret" not in text


@pytest.mark.parametrize(("role", "status"), [("set_artist", 403), ("continuity", 403)])
def test_who_gets_the_address(season: Season, role: str, status: int) -> None:
    account = season.show.phone(role).account
    assert account.get(season.show.head.path("calendar")).status == status
    assert account.post(season.show.head.path("calendar"), {}).status == status


# Clocks in New York: forward on 8 March 2026, back on 1 November 2026 (the law's second Sunday of March and
# first of November, from memory; the zone's data agree below).


def _document(**more: Any) -> OrderDocument:
    document = {
        "appliance": new_id(),
        "raised_by": "hand",
        "copies": 2,
        "needed_on": "2026-11-20",
        "why": "Why",
    }
    return OrderDocument.model_validate({**document, **more}, strict=False)


def _calendar(document: OrderDocument, changed_at: datetime.datetime, zone: str) -> Any:
    raised_on = changed_at.astimezone(ZoneInfo(zone)).date()
    order = CalendarOrder(UUID(new_id()), document, "Brow", None, 3, changed_at, raised_on, None)
    text = calendar_of("Show", zone, [order])
    calendar: Any = Calendar.from_ical(text)
    _check(text, calendar)
    (event,) = calendar.walk("VEVENT")
    return event


@pytest.mark.parametrize(
    "day", ["2026-03-07", "2026-03-08", "2026-03-09", "2026-10-31", "2026-11-01", "2026-11-02"]
)
def test_a_start_on_the_day_clocks_change_stays_on_it(day: str) -> None:
    zone = ZoneInfo("America/New_York")
    start = datetime.date.fromisoformat(day)
    hours = [
        datetime.datetime.combine(start + datetime.timedelta(days=n), datetime.time(), zone) for n in (0, 1)
    ]
    length = (hours[1].astimezone(datetime.UTC) - hours[0].astimezone(datetime.UTC)).total_seconds() / 3600
    assert length == {"2026-03-08": 23, "2026-11-01": 25}.get(day, 24)
    changed_at = datetime.datetime(2026, 3, 1, 12, tzinfo=datetime.UTC)
    event = _calendar(_document(latest_start=day), changed_at, "America/New_York")
    assert event["DTSTART"].dt == start
    assert event["DTEND"].dt == start + datetime.timedelta(days=1)


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        # An hour before midnight by the clock that was just put back, or forward: UTC-5 and UTC-4.
        ("2026-11-02T04:30:00+00:00", "2026-11-01"),
        ("2026-11-02T05:30:00+00:00", "2026-11-02"),
        ("2026-03-09T03:30:00+00:00", "2026-03-08"),
        ("2026-03-09T04:30:00+00:00", "2026-03-09"),
        ("2026-03-08T04:30:00+00:00", "2026-03-07"),
    ],
)
def test_where_every_day_counts_it_starts_on_the_day_it_was_raised_there(moment: str, day: str) -> None:
    changed_at = datetime.datetime.fromisoformat(moment)
    event = _calendar(_document(raised_by="cover"), changed_at, "America/New_York")
    assert event["DTSTART"].dt == datetime.date.fromisoformat(day)
    assert "Every day counts" in event["DESCRIPTION"]
    assert event["DTSTAMP"].dt == changed_at


def test_asked_for_by_hand_without_a_start_it_stands_on_the_day_it_is_needed() -> None:
    changed_at = datetime.datetime(2026, 11, 2, 12, tzinfo=datetime.UTC)
    event = _calendar(_document(), changed_at, "America/New_York")
    assert event["DTSTART"].dt == datetime.date(2026, 11, 20)
    assert str(event["SUMMARY"]) == "Needed on set: 2 Brow"
    assert "Every day counts" not in event["DESCRIPTION"]
