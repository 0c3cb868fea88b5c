"""Counting the copies on the shelf: a record of the count, beside an ordinary edit of each copy."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from continuity.stock.models import CopyChange
from tests.builders import Phone, Show, assert_feed_is_whole
from tests.shop.season import Season

Json = dict[str, Any]
NOT_THERE = {"state": "lost", "note": "Not there at the count of Wed 25 Nov 2026"}


def counted(phone: Phone, appliance: str, there: Sequence[str], missing: Sequence[str] = ()) -> Json:
    copies = {copy: {"held_as": "on_set", "found": copy in there} for copy in [*there, *missing]}
    return phone.entry("count", {"appliance": appliance, "copies": copies})


def about(phone: Phone, copy: str, patch: Json) -> Json:
    """An entry on a copy as the phone has it."""
    now = phone.record(copy)
    return phone.entry("copy", patch, copy, now["revision"], seen=now["seq"])


def state(show: Show, copy: str) -> str:
    return str(show.head.record(copy)["derived"]["state"])


def test_what_is_not_there_is_no_spare_any_more(season: Season) -> None:
    show = season.show
    season.shoot(2)
    assert season.cover()["spares_now"] == 3
    first, second, third = show.copies[:3]
    artist = show.set_artist
    count = counted(artist, show.appliance, [first, second], [third])
    artist.send_ok(about(artist, third, NOT_THERE), count)
    assert season.cover()["spares_now"] == 2
    told = show.head.record(count["record"])
    assert (told["kind"], told["made_by"]) == ("count", artist.crew)
    assert told["document"]["copies"][third] == {"held_as": "on_set", "found": False}
    assert show.head.record(third)["document"]["note"] == NOT_THERE["note"]
    change = CopyChange.objects.filter(copy_id=third).latest("received_at")
    assert (change.from_state, change.to_state, str(change.by_id)) == ("on_set", "lost", artist.crew)
    assert_feed_is_whole(show)


def test_the_next_count_puts_right_what_turned_up(season: Season) -> None:
    show = season.show
    artist = show.set_artist
    lost = show.copies[0]
    artist.send_ok(about(artist, lost, NOT_THERE))
    artist.send_ok(
        about(artist, lost, {"state": "on_set", "note": "Found"}),
        artist.entry(
            "count", {"appliance": show.appliance, "copies": {lost: {"held_as": "lost", "found": True}}}
        ),
    )
    assert state(show, lost) == "on_set"


def test_a_sheet_that_comes_late_decides_over_the_count(season: Season) -> None:
    """The copy was not on the shelf because it was on a face, by a phone that had no network."""
    show = season.show
    copy = show.copies[0]
    sheet = show.application(copy, phone=show.head)
    artist = show.set_artist
    artist.send_ok(about(artist, copy, NOT_THERE), counted(artist, show.appliance, [], [copy]))
    assert state(show, copy) == "lost"
    show.head.send_ok(sheet)
    assert state(show, copy) == "applied"


def test_what_somebody_else_has_said_meanwhile_is_not_overwritten(season: Season) -> None:
    show = season.show
    artist, shop, copy = show.set_artist, show.shop, show.copies[0]
    mine = about(artist, copy, NOT_THERE)
    shop.send_ok(about(shop, copy, {"state": "damaged"}))
    (result,) = artist.send(mine)
    assert result["result"] == "conflict"
    assert state(show, copy) == "damaged"
    [conflict] = show.head.conflicts()
    assert conflict["about"] == copy


def test_two_counts_of_one_shelf_both_stand(season: Season) -> None:
    show = season.show
    for phone in (show.set_artist, show.head):
        phone.send_ok(counted(phone, show.appliance, show.copies[:3]))
    assert {told["made_by"] for told in show.shop.records("count")} == {show.set_artist.crew, show.head.crew}


def test_a_count_is_taken_back(season: Season) -> None:
    artist = season.show.set_artist
    first = counted(artist, season.show.appliance, season.show.copies[:3])
    artist.send_ok(first)
    artist.send_ok(artist.edit(first, {}, withdrawn="The wrong box"))
    [told] = season.show.head.records("count")
    assert told["withdrawn"]
