"""The server is restored from a backup: its feed goes back, and its numbers mean something else then."""

from __future__ import annotations

from continuity.schedule.models import Production
from continuity.sync.models import Entry, Record
from tests.builders import Json, Phone, Show


def changes(phone: Phone, before: Json | None = None) -> Json:
    """A page of the feed, from where the page before ended."""
    question = f"changes?after={before['cursor']}&mark={before['mark']}" if before else "changes?after=0"
    answer = phone.account.get(phone.path(question))
    assert answer.status == 200, answer.body
    return answer.body


def restore(production: str, place: int) -> None:
    """Leave the database as it was when the feed had come so far. All written since are new records."""
    Record.objects.filter(production_id=production, seq__gt=place).delete()
    Entry.objects.filter(production_id=production, seq__gt=place).delete()
    Production.objects.filter(id=production).update(last_seq=place)


def new_unit(show: Show, name: str) -> Json:
    entry = show.continuity.entry("unit", {"name": name})
    show.continuity.send_ok(entry)
    return entry


def test_a_phone_that_had_read_further_is_told_to_read_all_again(show: Show) -> None:
    backup = show.continuity.cursor()
    lost = new_unit(show, "Second")
    read = changes(show.set_artist)
    restore(show.production, backup)
    # The same number again, for something else: no phone can tell by the number.
    other = new_unit(show, "Splinter")
    new_unit(show, "Third")
    answer = changes(show.set_artist, read)
    assert answer["gone_back"] is True
    assert answer["changes"] == []
    assert answer["key"] != read["key"]
    anew = changes(show.set_artist)
    assert anew["key"] == read["key"]
    assert other["record"] in [change["id"] for change in anew["changes"]]
    assert lost["record"] not in [change["id"] for change in anew["changes"]]
    assert changes(show.set_artist, anew)["gone_back"] is False


def test_a_phone_that_had_not_read_further_goes_on(show: Show) -> None:
    read = changes(show.set_artist)
    new_unit(show, "Second")
    restore(show.production, read["cursor"])
    other = new_unit(show, "Splinter")
    answer = changes(show.set_artist, read)
    assert (answer["gone_back"], answer["key"]) == (False, read["key"])
    assert [change["id"] for change in answer["changes"]] == [other["record"]]


def test_a_phone_of_an_older_version_is_told_while_it_is_further_than_the_server(show: Show) -> None:
    backup = show.continuity.cursor()
    new_unit(show, "Second")
    read = changes(show.set_artist)
    restore(show.production, backup)
    answer = show.set_artist.account.get(show.set_artist.path(f"changes?after={read['cursor']}"))
    assert answer.body["key"] != read["key"]


def test_what_the_server_says_of_a_record_by_itself_does_not_go_back(show: Show) -> None:
    """A place that belongs to no entry is known again by the entry before it."""
    sheet = show.application(show.copies[0])
    show.set_artist.send_ok(sheet)
    read = changes(show.continuity)
    assert changes(show.continuity, read)["gone_back"] is False
    show.set_artist.send_ok(show.set_artist.edit(sheet, {"note": "On"}))
    answer = changes(show.continuity, read)
    assert answer["gone_back"] is False
    assert sheet["record"] in [change["id"] for change in answer["changes"]]


def test_a_mark_that_is_none_is_refused(show: Show) -> None:
    for mark in ("", "1", "' OR 1=1", "0" * 40):
        answer = show.set_artist.account.get(show.set_artist.path(f"changes?after=3&mark={mark}"))
        assert (answer.status, answer.body["code"], answer.body["field"]) == (422, "not_a_request", "mark")
