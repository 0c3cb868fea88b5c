"""Who may write what: every role against every kind of record."""

from __future__ import annotations

from typing import Any

import pytest

from continuity.sync.models import Entry
from continuity.sync.registry import kinds
from tests.builders import ROLES, Show, new_id, table_counts

Json = dict[str, Any]

HEAD, ARTIST, CONTINUITY, SHOP = ROLES
# What each role does on a set: common practice, no source.
WRITERS: dict[str, set[str]] = {
    "application": {ARTIST, HEAD},
    "copy": {ARTIST, SHOP, HEAD},
    "material": {ARTIST, SHOP, HEAD},
    "recipe": {ARTIST, HEAD},
    "performer": {ARTIST, CONTINUITY, HEAD},
    "unit": {CONTINUITY, HEAD},
    "character": {CONTINUITY, HEAD},
    "look": {ARTIST, CONTINUITY, HEAD},
    "scene": {CONTINUITY, HEAD},
    "shoot_day": {CONTINUITY, HEAD},
    "appliance": {SHOP, HEAD},
    "mould": {SHOP, HEAD},
    "cast_run": {SHOP, HEAD},
    "order": {SHOP, HEAD},
    "parcel": {ARTIST, SHOP, HEAD},
    "count": {ARTIST, SHOP, HEAD},
    "verdict": {CONTINUITY, HEAD},
    "photo_guide": {ARTIST, CONTINUITY, HEAD},
    "colour_measurement": {ARTIST, CONTINUITY, HEAD},
}
MATCH = {"verdict", "photo_guide", "colour_measurement"}
MADE_ON_SERVER = {"production", "crew", "conflict"}


def new_document(show: Show, kind: str) -> Json:
    """A document that is right in everything."""
    if kind in MATCH:
        return _match_document(show, kind)
    documents: dict[str, Json] = {
        "application": show.sheet(show.copies[0]),
        "copy": {"appliance": show.appliance, "serial": "B77", "grade": "mid"},
        "material": {"name": "Paste", "use": "adhesive"},
        "recipe": show.recipe(),
        "performer": {"name": "Cy"},
        "unit": {"name": "Second"},
        "character": {"name": "The stranger"},
        "look": {"character": show.character, "name": "Healed"},
        "scene": {"number": "42A"},
        "shoot_day": {
            "date": "2026-11-27",
            "unit": show.unit,
            "crew_call": "07:00",
            "wrap": "03:00",
        },
        "appliance": {
            "name": "Ear",
            "encapsulator": "gelatine",
            "edge_solvent": "witch_hazel",
        },
        "mould": {"name": "Ear mould", "appliances": [show.appliance], "cycle_minutes": 90},
        "cast_run": {
            "mould": show.mould,
            "appliance": show.appliance,
            "cast_on": "2026-11-20",
            "due_on": "2026-11-20",
            "copies_planned": 1,
        },
        "order": {
            "appliance": show.appliance,
            "raised_by": "hand",
            "copies": 2,
            "needed_on": "2026-12-04",
            "why": "For the poster",
        },
        "parcel": {"copies": {show.copies[0]: {}}, "packed_on": "2026-11-25"},
        "count": {
            "appliance": show.appliance,
            "copies": {show.copies[0]: {"held_as": "on_set", "found": True}},
        },
    }
    return documents[kind]


def _match_document(show: Show, kind: str) -> Json:
    """What is written of an application that is there."""
    application, sha256 = show.worn()
    spot = {"x": 0.5, "y": 0.4, "radius": 0.02}
    documents: dict[str, Json] = {
        "verdict": {
            "application": application,
            "verdict": "matches",
            "pins": {new_id(): {"sha256": sha256, "x": 0.5, "y": 0.5, "words": "Here"}},
        },
        "photo_guide": {"sha256": sha256, "eyes": [{"x": 0.4, "y": 0.4}, {"x": 0.6, "y": 0.4}]},
        "colour_measurement": {
            "look": show.look,
            "then": show.measured_photo(),
            "now": show.measured_photo(),
            "patches": {new_id(): {"role": "piece", "name": "Brow", "then": spot, "now": spot}},
        },
    }
    return documents[kind]


def test_every_kind_is_spoken_of() -> None:
    assert WRITERS.keys() | MADE_ON_SERVER == kinds().keys()


@pytest.mark.parametrize("kind", WRITERS)
def test_a_role_writes_what_it_needs_and_nothing_else(show: Show, kind: str) -> None:
    for role in ROLES:
        phone = show.phone(role)
        first = phone.entry(kind, new_document(show, kind))
        before = table_counts()
        result = phone.send(first)[0]
        if role in WRITERS[kind]:
            assert result["result"] == "stored", (role, result)
        else:
            assert (result["result"], result["status"], result["code"]) == ("refused", 403, "not_allowed")
            assert table_counts() == before
            show.head.send_ok({**first, "made_by": show.head.crew})
            for edit in (phone.edit(first, {"note": "Mine"}), phone.edit(first, {}, withdrawn="Not mine")):
                assert phone.send(edit)[0]["code"] == "not_allowed"
            assert Entry.objects.filter(record=first["record"]).count() == 1
        taker_back = phone if role in WRITERS[kind] else show.head
        taker_back.send_ok(taker_back.edit(first, {}, withdrawn="Made for a test"))


@pytest.mark.parametrize("role", ROLES)
def test_only_the_head_changes_the_production(show: Show, role: str) -> None:
    phone = show.phone(role)
    production = phone.record(show.production)
    entry = phone.entry("production", {"cover_target": 0.9}, show.production, production["revision"])
    result = phone.send(entry)[0]
    assert result["result"] == ("stored" if role == HEAD else "refused")
    gone = phone.entry("production", {}, show.production, production["revision"], withdrawn="Over")
    assert phone.send(gone)[0]["code"] == "not_allowed"
    other = phone.entry("production", {"name": "Mine"})
    assert phone.send(other)[0]["code"] == "not_allowed"


@pytest.mark.parametrize("role", ROLES)
def test_nobody_writes_a_crew_record_on_a_phone(show: Show, role: str) -> None:
    phone = show.phone(role)
    own = phone.record(phone.crew)
    before = table_counts()
    entries = [
        phone.entry("crew", {"role": HEAD}, phone.crew, own["revision"]),
        phone.entry("crew", {"name": "X", "username": "x", "role": HEAD}),
        phone.entry("conflict", {"sort": "stale_edit"}),
    ]
    assert {result["code"] for result in phone.send(*entries)} == {"not_allowed"}
    assert table_counts() == before


@pytest.mark.parametrize("role", ROLES)
def test_who_settles_a_conflict(show: Show, role: str) -> None:
    first = show.application(show.copies[0])
    show.set_artist.send_ok(first)
    show.head.send_ok(show.head.edit(first, {"note": "Theirs"}))
    show.set_artist.send(show.set_artist.edit(first, {"note": "Mine"}))
    phone = show.phone(role)
    (conflict,) = phone.records("conflict")
    settled = {"settled": {"words": "Theirs", "by": phone.crew}}
    entry = phone.entry("conflict", settled, conflict["id"], conflict["revision"])
    assert phone.send(entry)[0]["result"] == ("refused" if role == SHOP else "stored")


@pytest.mark.parametrize("role", [ARTIST, CONTINUITY, SHOP])
def test_only_the_head_keeps_the_crew(show: Show, role: str) -> None:
    phone = show.phone(role)
    before = table_counts()
    member = {"username": new_id()[:8], "name": "X", "password": "spirit and water 8", "role": HEAD}
    answers = [
        phone.account.post(phone.path("crew"), member),
        phone.account.patch(phone.path(f"crew/{phone.crew}"), {"role": HEAD}),
        phone.account.patch(phone.path(f"crew/{show.head.crew}"), {"active": False}),
    ]
    assert {(answer.status, answer.body["code"]) for answer in answers} == {(403, "not_allowed")}
    assert table_counts() == before
    assert phone.record(phone.crew)["document"]["role"] == role


def test_the_last_head_stays(show: Show) -> None:
    path = show.head.path(f"crew/{show.head.crew}")
    for change in ({"active": False}, {"role": "shop"}, {"active": False, "role": "shop"}):
        answer = show.head.account.patch(path, change)
        assert (answer.status, answer.body["code"]) == (409, "last_department_head")
    assert show.head.record(show.head.crew)["document"]["role"] == HEAD
    show.head.account.patch(show.head.path(f"crew/{show.set_artist.crew}"), {"role": HEAD})
    assert show.head.account.patch(path, {"active": False}).status == 200


def test_a_changed_role_is_told_to_every_phone_and_counts_at_once(show: Show) -> None:
    entry = show.application(show.copies[0], phone=show.shop)
    assert show.shop.send(entry)[0]["code"] == "not_allowed"
    show.head.account.patch(show.head.path(f"crew/{show.shop.crew}"), {"role": ARTIST})
    assert show.continuity.record(show.shop.crew)["document"]["role"] == ARTIST
    assert show.shop.send(entry)[0]["result"] == "stored"
