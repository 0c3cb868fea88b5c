"""The admin: everything can be looked up, records cannot be changed, roles and accounts can."""

from __future__ import annotations

import datetime
import re
from typing import Any
from uuid import UUID

import pytest
from django.contrib import admin
from django.contrib.auth.models import Permission, User
from django.test import Client
from django.urls import reverse

from continuity.cover.services import reconsider_orders
from continuity.people.models import Membership
from continuity.stock.models import Copy
from continuity.sync.models import Record
from tests.builders import PASSWORD, Show
from tests.people.test_writers import new_document

OWN_APPS = {"people", "schedule", "stock", "shop", "applications", "photos", "match", "deliveries", "sync"}
SHA256 = "ab" * 32


@pytest.fixture
def full_show(show: Show) -> Show:
    """The show with one of everything, so that no list is empty."""
    recipe = show.set_artist.make("recipe", show.recipe())
    show.set_artist.send_ok(
        show.application(
            show.copies[0],
            recipe=recipe,
            scenes=[show.scene],
            photos={
                "018f0000-0000-7000-8000-000000000001": {
                    "sha256": SHA256,
                    "size": 10,
                    "media_type": "image/jpeg",
                    "angle": "front",
                    "moment": "applied",
                    "scene": show.scene,
                    "taken_at": "2026-11-25T05:00:00+00:00",
                }
            },
        )
    )
    for kind in ("parcel", "verdict", "photo_guide", "colour_measurement"):
        show.head.make(kind, new_document(show, kind))
    where = {"sort": "email", "address": "shop@workshop.example"}
    assert show.head.account.post(show.head.path("destinations"), where).status == 201
    day = show.head.record(show.shoot_day)["document"]
    for later in (27, 28, 29):
        show.head.make("shoot_day", {**day, "date": f"2026-11-{later}"})
    assert reconsider_orders(UUID(show.production), today=datetime.date(2026, 11, 25)) == 1
    return show


@pytest.fixture
def superuser(db: None) -> Client:
    User.objects.create_superuser("keeper", password=PASSWORD)
    client = Client()
    client.force_login(User.objects.get(username="keeper"))
    return client


def _own_models() -> list[type[Any]]:
    return [model for model in admin.site._registry if model._meta.app_label in OWN_APPS]


def _page(model: type[Any], view: str, *args: Any) -> str:
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{view}", args=args)


def test_every_list_and_one_of_each_record_opens(full_show: Show, superuser: Client) -> None:
    models = _own_models()
    assert len(models) == 28
    everything: list[type[Any]] = [*models, User]
    for model in everything:
        listed = superuser.get(_page(model, "changelist"))
        assert listed.status_code == 200, model
        first = model.objects.first()
        assert first is not None, f"the show has no {model.__name__} to open"
        opened = superuser.get(_page(model, "change", first.pk))
        assert opened.status_code == 200, model


def test_every_list_can_be_searched_and_filtered(full_show: Show, superuser: Client) -> None:
    for model in _own_models():
        found = superuser.get(_page(model, "changelist"), {"q": "Brow"})
        assert found.status_code == 200, model
    copies = superuser.get(_page(Copy, "changelist"), {"q": "B2"}).content.decode()
    # As it stands in the list: the page also holds a random token, which may hold anything.
    assert ">B2<" in copies
    assert ">B3<" not in copies
    by_state = superuser.get(_page(Copy, "changelist"), {"state__exact": "applied"}).content.decode()
    assert ">B1<" in by_state
    assert ">B2<" not in by_state


def test_records_are_to_look_at_and_say_why(full_show: Show, superuser: Client) -> None:
    copy = Copy.objects.get(serial="B2")
    listed = superuser.get(_page(Copy, "changelist")).content.decode()
    opened = superuser.get(_page(Copy, "change", copy.pk)).content.decode()
    assert "edited in the app, so that every phone hears of it" in listed
    assert "edited in the app, so that every phone hears of it" in opened
    assert 'name="_save"' not in opened
    changed = superuser.post(_page(Copy, "change", copy.pk), {"serial": "X9"})
    assert changed.status_code == 403
    assert superuser.get(_page(Copy, "add")).status_code == 403
    assert superuser.post(_page(Copy, "delete", copy.pk), {"post": "yes"}).status_code == 403
    assert Copy.objects.get(pk=copy.pk).serial == "B2"


def test_a_role_changed_here_reaches_the_phones(show: Show, superuser: Client) -> None:
    answer = superuser.post(
        _page(Membership, "change", show.shop.crew), {"role": "continuity", "active": "on"}
    )
    assert answer.status_code == 302, answer.content.decode()
    assert show.head.record(show.shop.crew)["document"]["role"] == "continuity"
    assert Membership.objects.get(id=show.shop.crew).role == "continuity"


def test_the_last_department_head_stays(show: Show, superuser: Client) -> None:
    answer = superuser.post(_page(Membership, "change", show.head.crew), {"role": "shop", "active": "on"})
    assert answer.status_code == 200
    assert "A production keeps at least one department head." in answer.content.decode()
    assert Membership.objects.get(id=show.head.crew).role == "department_head"


def test_an_account_is_given_a_role(show: Show, superuser: Client) -> None:
    newcomer = User.objects.create_user("newcomer", password=PASSWORD, first_name="Newcomer")
    answer = superuser.post(
        _page(Membership, "add"),
        {"production": show.production, "user": newcomer.pk, "role": "shop", "active": "on"},
    )
    assert answer.status_code == 302, answer.content.decode()
    member = Membership.objects.get(user=newcomer)
    assert show.head.record(str(member.id))["document"]["name"] == "Newcomer"


def test_a_new_name_reaches_the_phones(show: Show, superuser: Client) -> None:
    user = Membership.objects.get(id=show.shop.crew).user
    page = _page(User, "change", user.pk)
    form = superuser.get(page).context["adminform"].form
    sent = {name: value for name, value in form.initial.items() if value is not None}
    joined = user.date_joined
    sent |= {
        "first_name": "New name",
        "date_joined_0": joined.strftime("%Y-%m-%d"),
        "date_joined_1": joined.strftime("%H:%M:%S"),
    }
    sent = {name: value for name, value in sent.items() if value not in (False, [])}
    sent.pop("last_login", None)
    answer = superuser.post(page, sent)
    assert answer.status_code == 302, re.findall(r'errorlist".*?</ul>', answer.content.decode())
    assert show.head.record(show.shop.crew)["document"]["name"] == "New name"


def test_documents_with_health_notes_are_for_superusers(show: Show) -> None:
    """Somebody of the staff with every permission, but no superuser, finds no health notes."""
    staff = User.objects.create_user("staff", password=PASSWORD, is_staff=True)
    staff.user_permissions.set(Permission.objects.all())
    client = Client()
    client.force_login(staff)
    assert client.get(_page(Copy, "changelist")).status_code == 200
    for page in ("sync_record", "sync_entry"):
        assert client.get(reverse(f"admin:{page}_changelist")).status_code == 403
    record = Record.objects.get(id=show.performer)
    assert client.get(_page(Record, "change", record.pk)).status_code == 403
