"""Another production's data is out of reach by any id, and so is the knowledge that it exists."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Account, Phone, Show, make_show, new_id, photo, photos, sha256_of, table_counts
from tests.people.test_writers import WRITERS, new_document
from tests.photos.pictures import jpeg
from tests.photos.worker import prepare_photos

Json = dict[str, Any]


@pytest.fixture
def theirs(db: None) -> Show:
    """Another production, with an application and its photo."""
    show = make_show("Theirs: a secret title")
    raw = jpeg(seed=9)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(photo(raw))))
    show.set_artist.send_file(raw)
    prepare_photos()
    return show


def _intruder(mine: Show, theirs: Show) -> Phone:
    """The head of one production at the other's addresses."""
    return Phone(mine.head.account, theirs.production, mine.head.crew, mine.head.username)


def _asks(phone: Phone, theirs: Show) -> list[Any]:
    sha256 = sha256_of(jpeg(seed=9))
    entry = phone.entry("material", {"name": "X", "use": "paint"})
    member = {"username": "x", "name": "X", "password": "spirit and water 8", "role": "shop"}
    account = phone.account
    return [
        account.get(phone.path("changes")),
        account.get(phone.path("cover")),
        account.get(phone.path(f"match-sheet?look={theirs.look}")),
        account.get(phone.path(f"match-sheet?shoot_day={theirs.shoot_day}")),
        account.get(phone.path(f"orders/{new_id()}/ticket")),
        account.get(phone.path(f"orders/{new_id()}/ticket.pdf")),
        account.get(phone.path(f"labels.pdf?copies={theirs.copies[0]}")),
        account.get(phone.path("vapour?solvent=acetone&millilitres=1&minutes=1")),
        account.get(phone.path("materials/stock")),
        account.get(phone.path(f"materials/{theirs.adhesive}/draws")),
        account.get(phone.path(f"files/{sha256}")),
        account.post(phone.path(f"files/{sha256}/retry"), {}),
        *(account.get(phone.path(f"photos/{sha256}/{size}")) for size in ("small", "large", "full")),
        phone.post_entries([entry]),
        phone.hand_in(b"{}"),
        phone.send_piece(jpeg(seed=9), 0, 10),
        account.post(phone.path("crew"), member),
        account.patch(phone.path(f"crew/{theirs.shop.crew}"), {"active": False}),
    ]


def test_no_address_of_theirs_answers(show: Show, theirs: Show) -> None:
    before = table_counts()
    nowhere = Phone(show.head.account, new_id(), show.head.crew, show.head.username)
    answers, of_nothing = _asks(_intruder(show, theirs), theirs), _asks(nowhere, theirs)
    for answer, same in zip(answers, of_nothing, strict=True):
        assert (answer.status, answer.body["code"]) == (404, "not_found")
        assert b"secret" not in answer.content
        # One that exists answers like one that does not.
        assert answer.content == same.content
    assert table_counts() == before


def test_who_is_signed_out_learns_nothing(show: Show) -> None:
    stranger = Phone(Account(), show.production, show.head.crew, "")
    for answer in _asks(stranger, show):
        assert (answer.status, answer.body["code"], answer.body["retryable"]) == (401, "signed_out", True)


def test_the_session_names_only_ones_own(show: Show, theirs: Show) -> None:
    productions = show.set_artist.account.get("/api/session").body["productions"]
    assert [production["id"] for production in productions] == [show.production]


def test_their_crew_is_not_changed_from_here(show: Show, theirs: Show) -> None:
    answers = [
        show.head.account.patch(show.head.path(f"crew/{crew}"), {"role": "shop"})
        for crew in (theirs.set_artist.crew, new_id())
    ]
    assert [(answer.status, answer.body["code"]) for answer in answers] == [(404, "not_found")] * 2
    assert answers[0].content == answers[1].content


def test_an_account_is_not_taken_over_by_its_name(show: Show, theirs: Show) -> None:
    member = {"username": theirs.shop.username, "name": "X", "password": "spirit and water 8"}
    answer = show.head.account.post(show.head.path("crew"), {**member, "role": "department_head"})
    assert (answer.status, answer.body["code"]) == (409, "username_taken")
    assert Account().sign_in(theirs.shop.username)["signed_in"]


REFERENCES = {
    "application": [
        *("performer", "look", "artist", "edge_solvent", "sealer", "remover"),
        *("recipe", "scenes", "copies", "adhesives"),
    ],
    "copy": ["appliance", "cast_run"],
    "character": ["performer"],
    "performer": ["doubles"],
    "look": ["character", "appliances"],
    "scene": ["worn"],
    "shoot_day": ["unit", "scenes", "calls"],
    "appliance": ["performer", "gel"],
    "mould": ["appliances"],
    "cast_run": ["mould", "appliance", "order", "lots", "cavities"],
    "order": ["appliance", "mould"],
    "parcel": ["order", "copies"],
    "count": ["appliance", "copies"],
    "recipe": ["look", "previous", "steps"],
    "verdict": ["application", "against"],
    "colour_measurement": ["look", "then", "now"],
}


def _pointing_at(show: Show, field: str, kind: str) -> Any:
    """What a field holds when it points at something of this production."""
    recipe = next(iter(show.head.records("recipe")), {"id": new_id()})
    order = next(iter(show.head.records("order")), {"id": new_id()})
    if (field, kind) == ("copies", "parcel"):
        return {show.copies[1]: {}}
    if (field, kind) == ("copies", "count"):
        return {show.copies[1]: {"held_as": "on_set", "found": False}}
    if field in {"then", "now"}:
        return show.measured_photo()
    if field in {"application", "against"}:
        return show.worn()[0]
    return {
        "performer": show.performer,
        "look": show.look,
        "artist": show.set_artist.crew,
        "edge_solvent": show.edge_solvent,
        "sealer": show.paint,
        "remover": show.paint,
        "recipe": recipe["id"],
        "order": order["id"],
        "previous": recipe["id"],
        "copies": {new_id(): {"copy_used": show.copies[1]}},
        "adhesives": {new_id(): {"zone": "all", "material": show.adhesive}},
        "appliance": show.appliance,
        "cast_run": show.cast_run,
        "gel": show.adhesive,
        "lots": {new_id(): {"material": show.adhesive}},
        "cavities": {new_id(): {"cavity": 1, "result": "good", "copy_cast": show.copies[1]}},
        "doubles": show.performer,
        "character": show.character,
        "appliances": [show.appliance],
        "worn": [{"character": show.character, "look": show.look}],
        "unit": show.unit,
        "scenes": [show.scene] if kind == "application" else [{"scene": show.scene}],
        "calls": [{"performer": show.performer, "time": "06:00"}],
        "mould": show.mould,
        "steps": [{"zone": "wound", "paint": show.paint, "mix": "1:1"}],
    }[field]


@pytest.mark.parametrize("kind", REFERENCES)
def test_nothing_of_theirs_is_pointed_at_from_here(show: Show, theirs: Show, kind: str) -> None:
    theirs.head.make("recipe", theirs.recipe())
    show.head.make("recipe", show.recipe(version=9))
    for each in (theirs, show):
        each.head.make("order", new_document(each, "order"))
    document = new_document(show, kind)
    for field in REFERENCES[kind]:
        before = table_counts()
        pointing = show.head.entry(kind, {**document, field: _pointing_at(theirs, field, kind)})
        result = show.head.send(pointing)[0]
        assert (result["result"], result["code"]) == ("refused", "unknown_reference"), field
        assert "secret" not in result["message"]
        assert table_counts() == before
        own = show.head.entry(kind, {**document, field: _pointing_at(show, field, kind)})
        assert show.head.send(own)[0]["result"] in {"stored", "conflict"}, field
        show.head.send_ok(show.head.edit(own, {}, withdrawn="Made for a test"))


@pytest.mark.parametrize("kind", WRITERS)
def test_their_records_are_not_edited_or_taken_back_from_here(show: Show, theirs: Show, kind: str) -> None:
    first = theirs.head.entry(kind, new_document(theirs, kind))
    if kind == "application":
        first["patch"] = theirs.sheet(theirs.copies[1])
    theirs.head.send_ok(first)
    stored = theirs.head.record(first["record"])
    own = new_document(show, kind)
    before = table_counts()
    tries = [
        show.head.edit(first, {"note": "Mine"}),
        show.head.edit(first, {}, withdrawn="Mine"),
        show.head.entry(kind, own, first["record"]),
        show.head.entry("unit", {"name": "Mine"}, first["record"], first["id"]),
    ]
    assert {result["code"] for result in show.head.send(*tries)} == {"record_exists"}
    assert table_counts() == before
    assert theirs.head.record(first["record"]) == stored


def test_their_photo_is_not_shown_to_whoever_names_its_hash(show: Show, theirs: Show) -> None:
    """A record here that names it only makes this production wait for a file of its own."""
    raw = jpeg(seed=9)
    entry = show.application(show.copies[0], photos=photos(photo(raw)))
    show.set_artist.send_ok(entry)
    assert show.head.file_status(sha256_of(raw)).body["state"] == "awaited"
    answer = show.head.account.get(show.head.path(f"photos/{sha256_of(raw)}/small"))
    assert (answer.status, answer.body["code"]) == (404, "not_found")
