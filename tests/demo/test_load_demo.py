"""The demo, loaded by its command on two different days."""

from __future__ import annotations

import datetime
import io
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client, override_settings
from PIL import Image
from pytest_django import DjangoDbBlocker

from continuity.applications.models import Application, CopyUse
from continuity.cover.selectors import cover_of_appliances, cover_of_production
from continuity.cover.services import reconsider_orders
from continuity.demo.loader import PASSWORD
from continuity.people.models import Membership
from continuity.photos.models import Photo, PhotoFile
from continuity.schedule.models import Production, Scene, ShootDay
from continuity.stock.documents import MaterialUse
from continuity.stock.models import Appliance, CastRun, Copy, Material
from continuity.sync.models import Entry, Record
from tests.photos.worker import prepare_photos

# Also makes sure that there is a test database when only this file is run.
pytestmark = pytest.mark.django_db

# A Wednesday, and a Sunday on which the crew works.
DAYS = (datetime.date(2026, 11, 25), datetime.date(2027, 6, 20))
QUICK = {"PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"]}

Json = dict[str, Any]


@dataclass
class Demo:
    """The demo as it stands in the database, and what it was when it was loaded before."""

    today: datetime.date
    printed: str
    media: Path
    before: Json = field(default_factory=dict)

    @property
    def production(self) -> Production:
        return Production.objects.get()

    def records(self, kind: str) -> list[Record]:
        return list(Record.objects.filter(kind=kind).order_by("id"))


def _load(today: datetime.date, media: Path) -> Demo:
    printed = io.StringIO()
    with override_settings(MEDIA_ROOT=media, **QUICK):
        call_command("load_demo", today=today, stdout=printed)
    return Demo(today, printed.getvalue(), media)


def _everything() -> Json:
    """Every record by id, and the photos' files, with the accounts' ids replaced by their names."""
    names = {str(member.id): member.user.username for member in Membership.objects.select_related("user")}
    documents = {
        names.get(str(record.id), str(record.id)): [record.kind, record.document, record.derived]
        for record in Record.objects.all()
    }
    entries = [
        [str(entry.id), str(entry.record), entry.patch, entry.happened_at.isoformat()]
        for entry in Entry.objects.exclude(kind__in=["crew", "production"]).order_by("id")
    ]
    files = sorted(PhotoFile.objects.values_list("sha256", "state", "size"))
    text = json.dumps({"documents": documents, "entries": entries, "files": files}, sort_keys=True)
    for crew, name in names.items():
        text = text.replace(crew, name)
    found: Json = json.loads(text)
    return found


@pytest.fixture(scope="module", params=DAYS, ids=str)
def demo(
    request: pytest.FixtureRequest,
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Demo]:
    """Loaded once a day; on the first day twice, into two fresh databases."""
    today: datetime.date = request.param
    before: Json = {}
    with django_db_blocker.unblock():
        if today == DAYS[0]:
            with transaction.atomic():
                _load(today, tmp_path_factory.mktemp("first"))
                before = _everything()
                transaction.set_rollback(True)
        with transaction.atomic():
            loaded = _load(today, tmp_path_factory.mktemp("media"))
            loaded.before = before
            yield loaded
            transaction.set_rollback(True)


def test_two_loads_are_equal(demo: Demo) -> None:
    if demo.today == DAYS[0]:
        assert _everything() == demo.before


def test_nothing_is_in_question(demo: Demo) -> None:
    assert not Entry.objects.exclude(state="applied").exists()
    assert not Entry.objects.filter(conflict=True).exists()
    assert not demo.records("conflict")


def test_there_is_enough_of_everything(demo: Demo) -> None:
    assert Scene.objects.count() >= 24
    assert {"12", "42A", "A51"} <= set(Scene.objects.values_list("number", flat=True))
    assert Appliance.objects.count() == 5
    assert Appliance.objects.filter(performer=None).exists()
    assert Appliance.objects.values("encapsulator").distinct().count() >= 4
    assert set(Appliance.objects.values_list("grade", flat=True)) == {"hero", "mid", "background"}
    assert len(demo.records("performer")) == 3
    assert len(demo.records("unit")) == 2
    assert Application.objects.count() >= 22
    assert 40 <= Photo.objects.count() <= 60
    assert set(Material.objects.values_list("use", flat=True)) == {use.value for use in MaterialUse}
    assert Material.objects.filter(expires_on__lt=demo.today).count() == 1
    assert set(Copy.objects.values_list("state", flat=True)) == {
        "shop", "in_transit", "on_set", "applied", "used_up", "damaged", "lost",
    }  # fmt: skip
    assert CastRun.objects.filter(good=None).count() == 1
    assert max(record.document["version"] for record in demo.records("recipe")) == 2


def test_three_weeks_out_of_story_order(demo: Demo) -> None:
    main = ShootDay.objects.filter(unit__name="Main unit").order_by("date")
    dates = list(main.values_list("date", flat=True))
    assert len(dates) == 18
    assert demo.today in dates
    assert sum(date < demo.today for date in dates) == 6
    assert not [date for date in dates if date.weekday() == 6 and date != demo.today]
    assert ShootDay.objects.filter(unit__name="Second unit").count() >= 4
    story_days = [
        day
        for day in main.values_list("planned_scenes__scene__story_day", flat=True).order_by(
            "date", "planned_scenes__position"
        )
        if day is not None
    ]
    assert story_days != sorted(story_days)


def test_every_scene_is_on_the_schedule(demo: Demo) -> None:
    assert not Scene.objects.filter(planned=None).exists()


def test_everything_is_in_the_past(demo: Demo) -> None:
    zone = ZoneInfo(demo.production.time_zone)
    midnight = datetime.datetime.combine(demo.today, datetime.time(), zone)
    written = Entry.objects.exclude(kind__in=["crew", "production"])
    assert not written.filter(happened_at__gte=midnight).exists()
    assert not Photo.objects.filter(taken_at__gte=midnight).exists()
    assert not Application.objects.filter(date__gte=demo.today).exists()


def test_the_sheets_are_whole(demo: Demo) -> None:
    sheets = [record.document for record in demo.records("application")]
    open_sheets = [sheet for sheet in sheets if "removed_at" not in sheet]
    assert len(open_sheets) == 1
    for sheet in sheets:
        assert sheet["started_at"] < sheet["ready_at"]
        good = [use for use in sheet["copies"].values() if use["outcome"] == "good"]
        spoiled = [use for use in sheet["copies"].values() if use["outcome"] == "spoiled"]
        assert good
        assert all(use.get("why") for use in spoiled)
        assert sheet["adhesives"]
        assert sheet["photos"]
    assert sum(bool(sheet["touch_ups"]) for sheet in sheets) >= 6
    assert sum(bool(sheet["breaks"]) for sheet in sheets) >= 4
    assert sum("recipe_differences" in sheet for sheet in sheets) >= 3
    assert sum("skin_after" in sheet for sheet in sheets) >= 10
    assert CopyUse.objects.filter(outcome="spoiled").count() >= 6
    assert CopyUse.objects.filter(outcome="lost").count() == 1


def test_each_sheet_wears_what_its_scenes_ask_for(demo: Demo) -> None:
    for application in Application.objects.prefetch_related("scenes__worn__character").select_related(
        "recipe"
    ):
        assert application.recipe is not None
        assert application.recipe.look_id == application.look_id
        for scene in application.scenes.all():
            wearing = {
                (worn.performer_id or worn.character.performer_id, worn.look_id) for worn in scene.worn.all()
            }
            assert (application.performer_id, application.look_id) in wearing, application
            planned = ShootDay.objects.filter(date=application.date, planned_scenes__scene=scene)
            assert planned.exists(), application


def test_what_was_planned_was_logged(demo: Demo) -> None:
    """Seen from the first shoot day, no application before today is still open but one: the double's, for
    which a copy of the performer's own piece was used."""
    first = ShootDay.objects.order_by("date")[0].date
    left = [
        (Appliance.objects.get(id=found.appliance_id).name, count)
        for found in cover_of_production(demo.production.id, today=first)
        for date, count in found.applications.items()
        if date < demo.today
    ]
    assert left == [("Cut brow, left, for the double", 1)]


def test_every_warning_was_read_and_answered(demo: Demo) -> None:
    warnings = [
        warning
        for record in demo.records("application")
        for warning in (*record.derived["warnings"], *record.derived["health_warnings"])
    ]
    assert {warning["code"] for warning in warnings} == {
        "wear_limit_passed", "material_past_date", "adhesive_no_patch_test", "copy_past_shelf_date",
        "copy_grade_too_low", "copy_for_another_performer",
    }  # fmt: skip
    assert all(warning["overridden"] for warning in warnings)


def test_one_appliance_runs_short_within_days(demo: Demo) -> None:
    at_risk = {
        Appliance.objects.get(id=found.appliance_id).name: found.cover.first_day_at_risk
        for found in cover_of_production(demo.production.id, today=demo.today)
        if found.cover.first_day_at_risk
    }
    assert list(at_risk) == ["Cut brow, left"]
    days = (at_risk["Cut brow, left"] - demo.today).days
    assert 4 <= days <= 10


def test_two_copies_are_kept_for_a_scene(demo: Demo) -> None:
    kept = {
        Appliance.objects.get(id=found.appliance_id).name: found.plan.set_aside
        for found in cover_of_production(demo.production.id, today=demo.today)
        if found.plan.set_aside
    }
    assert kept == {"Raised scar, small": 2}


def test_what_runs_short_is_ordered(demo: Demo) -> None:
    with transaction.atomic():
        reconsider_orders(demo.production.id, today=demo.today)
        (order,) = demo.records("order")
        transaction.set_rollback(True)
    assert Appliance.objects.get(id=order.document["appliance"]).name == "Cut brow, left"
    assert order.document["copies"] >= 1


def test_the_cover_of_one_appliance_is_that_of_the_whole(demo: Demo) -> None:
    """Read and worked out alone, as after one new application, it comes to the same."""
    for found in cover_of_production(demo.production.id):
        (alone,) = cover_of_appliances(demo.production.id, [UUID(found.appliance_id)])
        assert (alone.cover, alone.reorder) == (found.cover, found.reorder)
        assert (alone.plan.estimate, alone.applications) == (found.plan.estimate, found.applications)


def test_every_photo_is_there_and_can_be_looked_at(demo: Demo) -> None:
    assert set(PhotoFile.objects.values_list("state", flat=True)) == {"stored"}
    for record in demo.records("application"):
        assert set(record.derived["files"].values()) == {"stored"}
    with override_settings(MEDIA_ROOT=demo.media):
        prepare_photos()
    assert set(PhotoFile.objects.values_list("renditions", "full")) == {("made", "made")}
    for file in PhotoFile.objects.all():
        assert (file.width, file.height) == (900, 1200)
        assert file.size < 150_000
    client = Client()
    client.force_login(User.objects.get(username="continuity"))
    shown = PhotoFile.objects.exclude(photos__moment="removed")[0]
    with override_settings(MEDIA_ROOT=demo.media):
        answer = client.get(f"/api/productions/{demo.production.id}/photos/{shown.sha256}/full")
    assert answer.status_code == 200
    picture = Image.open(io.BytesIO(answer.getvalue()))
    assert picture.size == (900, 1200)


def test_health_notes_are_there(demo: Demo) -> None:
    performers = [record.document for record in demo.records("performer")]
    assert sum(bool(performer["allergies"]) for performer in performers) == 2
    readings = [
        reading["result"]
        for performer in performers
        for test in performer["patch_tests"].values()
        for reading in test["readings"].values()
    ]
    assert Counter(readings)["no_reaction"] >= 10
    assert Counter(readings)["doubtful"] == 1


def test_the_accounts_printed_can_sign_in(demo: Demo) -> None:
    assert PASSWORD in demo.printed
    roles = {member.user.username: member.role for member in Membership.objects.select_related("user")}
    assert roles == {
        "head": "department_head",
        "artist": "set_artist",
        "continuity": "continuity",
        "shop": "shop",
    }
    for username in roles:
        assert username in demo.printed
        answer = Client().post(
            "/api/session",
            json.dumps({"username": username, "password": PASSWORD}),
            content_type="application/json",
        )
        assert answer.status_code == 200, answer.content
        assert answer.json()["productions"][0]["id"] == str(demo.production.id)
    assert [user.username for user in User.objects.filter(is_superuser=True)] == ["head"]


def test_a_second_load_is_refused(demo: Demo) -> None:
    entries = Entry.objects.count()
    with pytest.raises(CommandError, match="There is a production already") as refused:
        call_command("load_demo")
    assert refused.value.returncode == 1
    assert "\n" not in str(refused.value)
    assert Entry.objects.count() == entries
