"""A lost login or a lost place on the crew loses nothing that was written."""

from __future__ import annotations

from continuity.sync.models import Entry
from tests.builders import (
    Account,
    Phone,
    Show,
    assert_kept_once,
    make_show,
    new_id,
    unsent_file,
)


def test_signed_out_in_between_then_sent_after_signing_in_again(show: Show) -> None:
    phone = show.set_artist
    first, second = show.application(show.copies[0]), show.application(show.copies[1])
    phone.send_ok(first)
    phone.account.raw("DELETE", "/api/session", b"")
    answer = phone.post_entries([second])
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (401, "signed_out", True)
    assert not Entry.objects.filter(id=second["id"]).exists()
    phone.account = Account()
    phone.account.sign_in(phone.username)
    assert [result["result"] for result in phone.send(first, second)] == ["repeat", "stored"]
    assert_kept_once(show, first, second)


def test_another_persons_login_on_the_same_phone(show: Show) -> None:
    """Who made it and who sent it are two things."""
    entry = show.application(show.copies[0])
    assert show.head.send(entry)[0]["result"] == "stored"
    stored = Entry.objects.get(id=entry["id"])
    assert (str(stored.made_by_id), str(stored.sent_by_id)) == (show.set_artist.crew, show.head.crew)
    assert show.set_artist.send(entry)[0]["result"] == "repeat"
    assert_kept_once(show, entry)


def test_the_same_id_in_another_production(show: Show) -> None:
    entry = show.application(show.copies[0])
    show.set_artist.send_ok(entry)
    elsewhere = make_show("Another show")
    same_id = {**elsewhere.application(elsewhere.copies[0]), "id": entry["id"]}
    same_record = {**elsewhere.application(elsewhere.copies[0]), "record": entry["record"]}
    results = elsewhere.set_artist.send(same_id, same_record)
    assert [result["code"] for result in results] == ["body_mismatch", "record_exists"]
    assert elsewhere.head.records("application") == []
    assert_kept_once(show, entry)


def test_nobody_of_the_crew_made_it(show: Show) -> None:
    elsewhere = make_show("Another show")
    for stranger in (new_id(), elsewhere.set_artist.crew):
        entry = {**show.application(show.copies[0]), "made_by": stranger}
        result = show.set_artist.send(entry)[0]
        assert (result["code"], result["field"]) == ("unknown_reference", "made_by")


def _end_place(show: Show, phone: Phone) -> None:
    answer = show.head.account.patch(show.head.path(f"crew/{phone.crew}"), {"active": False})
    assert answer.status == 200


def test_who_left_the_crew_is_told_nothing_and_may_send_nothing(show: Show) -> None:
    entry = show.application(show.copies[0])
    _end_place(show, show.set_artist)
    answers = [
        show.set_artist.post_entries([entry]),
        show.set_artist.hand_in(unsent_file(show.set_artist, [entry])),
        show.set_artist.account.get(show.set_artist.path("changes")),
        show.set_artist.account.get(show.set_artist.path("cover")),
    ]
    assert {(answer.status, answer.body["code"]) for answer in answers} == {(404, "not_found")}
    assert show.set_artist.account.get("/api/session").body["productions"] == []
    assert not Entry.objects.filter(id=entry["id"]).exists()


def test_what_they_wrote_before_is_handed_in_by_the_head(show: Show) -> None:
    entry = show.application(show.copies[0])
    _end_place(show, show.set_artist)
    answer = show.head.hand_in(unsent_file(show.set_artist, [entry]))
    assert [result["result"] for result in answer.body["results"]] == ["stored"]
    assert_kept_once(show, entry)


def test_the_place_is_renewed_and_the_queue_goes_on(show: Show) -> None:
    entry = show.application(show.copies[0])
    _end_place(show, show.set_artist)
    assert show.set_artist.post_entries([entry]).status == 404
    show.head.account.patch(show.head.path(f"crew/{show.set_artist.crew}"), {"active": True})
    assert show.set_artist.send(entry)[0]["result"] == "stored"
    assert_kept_once(show, entry)
