"""A sign-in that is remembered ends in the moment it would have ended otherwise."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from continuity.people.models import Membership
from tests.builders import Account, Phone, Show


def _ask(phone: Phone) -> tuple[int, str]:
    answer = phone.account.get(phone.path("changes?after=0&limit=1"))
    return answer.status, str(answer.body.get("code") or answer.body.get("answer"))


@pytest.fixture
def phone(show: Show) -> Phone:
    """A set artist's phone whose sign-in has been used before, and is known."""
    for _ in range(2):
        assert _ask(show.set_artist) == (200, "changes")
    return show.set_artist


def _user(phone: Phone) -> User:
    return User.objects.get(username=phone.username)


def _new_password(phone: Phone) -> None:
    user = _user(phone)
    user.set_password("another-tide-table")
    user.save()


def _deactivated(phone: Phone) -> None:
    User.objects.filter(id=_user(phone).id).update(is_active=False)


def _session_gone(phone: Phone) -> None:
    Session.objects.all().delete()


def _session_over(phone: Phone) -> None:
    Session.objects.update(expire_date=timezone.now() - datetime.timedelta(seconds=1))


def _session_of_somebody_else(phone: Phone) -> None:
    other = Account()
    other.sign_in(User.objects.exclude(id=_user(phone).id).filter(is_superuser=False)[0].username)
    newest = Session.objects.get(session_key=other.client.cookies["sessionid"].value)
    key = phone.account.client.cookies["sessionid"].value
    Session.objects.filter(session_key=key).update(session_data=newest.session_data[:-1])


@pytest.mark.parametrize(
    "end", [_new_password, _deactivated, _session_gone, _session_over, _session_of_somebody_else]
)
def test_it_ends_at_once(phone: Phone, end: Callable[[Phone], None]) -> None:
    end(phone)
    assert _ask(phone) == (401, "signed_out")
    assert _ask(phone) == (401, "signed_out")


def test_another_role_holds_from_the_next_request(show: Show, phone: Phone) -> None:
    scene = phone.entry("scene", {"number": "77"})
    assert phone.send(scene)[0]["code"] == "not_allowed"
    Membership.objects.filter(id=phone.crew).update(role="continuity")
    assert phone.send(scene)[0]["result"] == "stored"


def test_a_place_that_ends_and_is_given_again(phone: Phone) -> None:
    Membership.objects.filter(id=phone.crew).update(active=False)
    assert _ask(phone) == (404, "not_found")
    Membership.objects.filter(id=phone.crew).update(active=True)
    assert _ask(phone) == (200, "changes")


def test_it_is_found_again_with_one_statement(phone: Phone) -> None:
    with CaptureQueriesContext(connection) as statements:
        _ask(phone)
    about_people = [
        each["sql"]
        for each in statements.captured_queries
        if "django_session" in each["sql"] or "auth_user" in each["sql"]
    ]
    assert len(about_people) == 1
