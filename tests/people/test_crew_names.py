"""The name of a person on the crew, put right by the department head."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from continuity.people.models import Membership
from tests.builders import Phone, Show, make_show


def _rename(head: Phone, crew: str, name: str) -> tuple[int, str]:
    answer = head.account.patch(head.path(f"crew/{crew}"), {"name": name})
    return answer.status, str(answer.body.get("code") or answer.body.get("answer"))


def _name(show: Show, crew: str) -> str:
    name: str = show.shop.record(crew)["document"]["name"]
    return name


def test_the_head_puts_a_name_right_and_every_phone_hears_of_it(show: Show) -> None:
    crew = show.set_artist.crew
    before = show.shop.record(crew)["document"]
    assert _rename(show.head, crew, "Noor Ashwick") == (200, "crew")
    assert show.shop.record(crew)["document"] == {**before, "name": "Noor Ashwick"}
    session = show.set_artist.account.get("/api/session").body
    assert session["user"]["name"] == "Noor Ashwick"


def test_nobody_else_changes_a_name_not_even_their_own(show: Show) -> None:
    crew = show.set_artist.crew
    before = _name(show, crew)
    assert _rename(show.set_artist, crew, "Noor Ashwick") == (403, "not_allowed")
    assert _name(show, crew) == before


def test_the_name_of_an_account_that_works_elsewhere_too_stays(show: Show) -> None:
    elsewhere = make_show("Another show")
    crew = show.set_artist.crew
    before = _name(show, crew)
    account = User.objects.get(username=show.set_artist.username)
    Membership.objects.create(production_id=elsewhere.head.production, user=account, role="set_artist")
    assert _rename(show.head, crew, "Noor Ashwick") == (403, "not_allowed")
    assert _name(show, crew) == before


@pytest.mark.parametrize("name", ["", "   ", "x" * 151])
def test_a_name_that_is_none(show: Show, name: str) -> None:
    crew = show.set_artist.crew
    before = _name(show, crew)
    assert _rename(show.head, crew, name)[0] == 422
    assert _name(show, crew) == before
