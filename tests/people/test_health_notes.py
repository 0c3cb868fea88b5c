"""Health notes reach those who apply and the department head, and nobody else, by whatever way."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.builders import Show, new_id, photo, photos, sha256_of, table_counts, unsent_file
from tests.photos.pictures import jpeg
from tests.photos.worker import prepare_photos

Json = dict[str, Any]

SECRET = "colophony-weal-on-the-temple"
MAY_SEE = ("department_head", "set_artist")
MAY_NOT_SEE = ("continuity", "shop")


def _performer_with_health(show: Show) -> None:
    performer = show.set_artist.record(show.performer)
    patch = {
        "allergies": {new_id(): {"substance": "Colophony", "note": SECRET}},
        "patch_tests": {
            new_id(): {
                "material": show.adhesive,
                "applied_on": "2026-11-01",
                "readings": {new_id(): {"read_on": "2026-11-03", "result": "reaction", "note": SECRET}},
            }
        },
    }
    entry = show.set_artist.entry("performer", patch, show.performer, performer["revision"])
    show.set_artist.send_ok(entry)


def _sheet_with_health(show: Show, raw: bytes) -> Json:
    key = f"adhesive_on_allergy_list:{show.adhesive}"
    entry = show.application(
        show.copies[0],
        adhesives={new_id(): {"zone": "brow", "material": show.adhesive}},
        skin_after=SECRET,
        health_overridden={key: {"words": SECRET, "at": "2026-11-25T05:00:00Z", "why": SECRET}},
        # Not where a phone of ours writes it; it must not reach the others for that.
        overridden={key: {"words": SECRET, "at": "2026-11-25T05:00:00Z"}},
        photos=photos(photo(raw, moment="removed")),
    )
    show.set_artist.send_ok(entry)
    show.set_artist.send_file(raw)
    prepare_photos()
    return entry


def _all_that_reaches(show: Show, role: str) -> str:
    return json.dumps(show.phone(role).changes())


@pytest.mark.parametrize("role", MAY_SEE)
def test_those_who_apply_and_the_head_see_all_of_it(show: Show, role: str) -> None:
    raw = jpeg()
    _performer_with_health(show)
    entry = _sheet_with_health(show, raw)
    phone = show.phone(role)
    performer, sheet = phone.record(show.performer)["document"], phone.record(entry["record"])
    assert performer["allergies"]
    assert performer["patch_tests"]
    assert sheet["document"]["skin_after"] == SECRET
    assert sheet["document"]["health_overridden"]
    assert {warning["code"] for warning in sheet["derived"]["warnings"]} == {
        "adhesive_on_allergy_list",
        "adhesive_reaction_recorded",
    }
    assert phone.account.get(phone.path(f"photos/{sha256_of(raw)}/small")).status == 200


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_nothing_of_it_reaches_the_others(show: Show, role: str) -> None:
    raw = jpeg()
    _performer_with_health(show)
    entry = _sheet_with_health(show, raw)
    phone = show.phone(role)
    feed = _all_that_reaches(show, role)
    assert SECRET not in feed
    for word in ("allerg", "patch_test", "skin_after", "health", "reaction", sha256_of(raw)):
        assert word not in feed, word
    sheet = phone.record(entry["record"])
    assert sheet["document"]["photos"] == {}
    assert sheet["derived"]["warnings"] == []
    for rendition in ("small", "large", "full"):
        answer = phone.account.get(phone.path(f"photos/{sha256_of(raw)}/{rendition}"))
        assert (answer.status, answer.body["code"]) == (404, "not_found")


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_the_other_photos_and_warnings_do_reach_them(show: Show, role: str) -> None:
    raw, bare = jpeg(seed=1), jpeg(seed=2)
    entry = show.application(
        show.copies[0], photos=photos(photo(raw, moment="applied"), photo(bare, moment="removed"))
    )
    entry["patch"]["performer"] = show.other_performer
    show.set_artist.send_ok(entry)
    show.set_artist.send_file(raw)
    show.set_artist.send_file(bare)
    prepare_photos()
    phone = show.phone(role)
    sheet = phone.record(entry["record"])
    assert [warning["code"] for warning in sheet["derived"]["warnings"]] == ["copy_for_another_performer"]
    assert sheet["derived"]["files"] == {sha256_of(raw): "stored"}
    assert phone.account.get(phone.path(f"photos/{sha256_of(raw)}/small")).status == 200
    assert phone.account.get(phone.path(f"photos/{sha256_of(bare)}/small")).status == 404


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_a_photo_that_is_also_of_bare_skin_stays_with_those_who_apply(show: Show, role: str) -> None:
    raw = jpeg()
    entry = show.application(
        show.copies[0], photos=photos(photo(raw, moment="removed"), photo(raw, moment="after"))
    )
    show.set_artist.send_ok(entry)
    show.set_artist.send_file(raw)
    prepare_photos()
    path = show.head.path(f"photos/{sha256_of(raw)}/full")
    assert show.head.account.get(path).status == 200
    assert show.phone(role).account.get(path).status == 404


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_nothing_leaks_through_a_conflict(show: Show, role: str) -> None:
    raw = jpeg()
    entry = _sheet_with_health(show, raw)
    (item,) = entry["patch"]["photos"]
    theirs = show.head.edit(
        entry, {"skin_after": "Calm", "note": "Theirs", "photos": {item: {"story_day": 3}}}
    )
    mine = show.set_artist.edit(
        entry, {"skin_after": f"{SECRET} again", "note": "Mine", "photos": {item: {"story_day": 4}}}
    )
    show.head.send_ok(theirs)
    assert show.set_artist.send(mine)[0]["result"] == "conflict"
    (full,) = show.head.conflicts()
    assert {tuple(each["path"]) for each in full["health_fields_collided"]} == {
        ("skin_after",),
        ("photos", item, "story_day"),
    }
    (seen,) = show.phone(role).conflicts()
    assert [each["path"] for each in seen["fields_collided"]] == [["note"]]
    assert "health_fields_collided" not in seen
    assert SECRET not in _all_that_reaches(show, role)
    assert item not in _all_that_reaches(show, role)


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_nothing_leaks_through_a_held_entry_that_did_not_fit(show: Show, role: str) -> None:
    raw = jpeg()
    first = show.application(show.copies[0])
    bare = photos(photo(raw, moment="removed"))
    second = show.set_artist.edit(first, {"look": new_id(), "skin_after": SECRET})
    third = show.set_artist.edit(first, {"look": new_id(), "photos": bare})
    show.set_artist.send(second, third, first)
    assert len(show.head.conflicts()) == 2
    assert SECRET in _all_that_reaches(show, "department_head")
    feed = _all_that_reaches(show, role)
    assert SECRET not in feed
    assert sha256_of(raw) not in feed


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_a_new_role_shows_another_feed(show: Show, role: str) -> None:
    """What a phone may no longer see it must drop: the key says so."""
    phone = show.set_artist
    before = phone.account.get(phone.path("changes")).body["key"]
    assert phone.account.get(phone.path("changes")).body["key"] == before
    show.head.account.patch(show.head.path(f"crew/{phone.crew}"), {"role": role})
    assert phone.account.get(phone.path("changes")).body["key"] != before
    _, performer = None, phone.record(show.performer)
    assert "allergies" not in performer["document"]


HEALTH_WRITES = [
    ("performer", {"allergies": {new_id(): {"substance": "latex"}}}),
    ("performer", {"allergies": None}),
    ("performer", {"patch_tests": {}}),
]


@pytest.mark.parametrize(("kind", "patch"), HEALTH_WRITES)
def test_continuity_may_write_the_performer_but_not_the_health_notes(
    show: Show, kind: str, patch: Json
) -> None:
    phone = show.continuity
    performer = phone.record(show.performer)
    before = table_counts()
    entry = phone.entry(kind, patch, show.performer, performer["revision"])
    result = phone.send(entry)[0]
    assert (result["result"], result["status"], result["code"]) == ("refused", 403, "not_allowed")
    assert result["field"] in {"allergies", "patch_tests"}
    new = phone.entry(kind, {"name": "New", **patch})
    assert phone.send(new)[0]["code"] == "not_allowed"
    assert table_counts() == before
    named = phone.entry("performer", {"name": "Ana B"}, show.performer, performer["revision"])
    assert phone.send(named)[0]["result"] == "stored"


def test_an_edit_by_continuity_does_not_lose_the_health_notes(show: Show) -> None:
    _performer_with_health(show)
    performer = show.continuity.record(show.performer)
    edit = show.continuity.entry("performer", {"name": "Ana B"}, show.performer, performer["revision"])
    show.continuity.send_ok(edit)
    document = show.head.record(show.performer)["document"]
    assert document["name"] == "Ana B"
    assert SECRET in json.dumps(document)


@pytest.mark.parametrize("role", MAY_NOT_SEE)
def test_health_notes_do_not_come_in_by_an_unsent_file_either(show: Show, role: str) -> None:
    entry = show.application(show.copies[0], skin_after=SECRET)
    before = table_counts()
    answer = show.phone(role).hand_in(unsent_file(show.set_artist, [entry]))
    assert answer.body["results"][0]["code"] == "not_allowed"
    assert table_counts() == before
