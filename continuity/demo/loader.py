"""Loading the demo through the same services the phones use, so that nothing bypasses their rules."""

from __future__ import annotations

import datetime
import itertools
import shutil
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.utils import timezone

from continuity.demo import bench, story
from continuity.demo.dates import Calendar
from continuity.demo.entries import EntryBook, Json, mint
from continuity.demo.match import write_match
from continuity.demo.setting_up import SET_UP_DAY, write_set_up
from continuity.demo.sheets import write_applications
from continuity.people.models import Membership
from continuity.people.services import add_crew_member, create_production
from continuity.photos.services import receive_piece
from continuity.schedule.documents import ProductionDocument
from continuity.schedule.models import Production
from continuity.sync.refusal import Refusal
from continuity.sync.services import accept_entries

# Printed whenever the demo is loaded: these accounts protect nothing, and nothing real belongs beside them.
PASSWORD = "tide-table-52"  # noqa: S105
ENTRIES_AT_ONCE = 500


class CannotLoad(Exception):
    """Why the demo is not loaded, as one sentence."""


@dataclass(frozen=True)
class Loaded:
    """What was loaded. ``accounts`` are (user name, name, role)."""

    production_id: UUID
    title: str
    entries: int
    photos: int
    accounts: tuple[tuple[str, str, str], ...]


def today_of_demo() -> datetime.date:
    """Today where the demo production shoots."""
    return timezone.now().astimezone(ZoneInfo(story.TIME_ZONE)).date()


def load_demo(today: datetime.date) -> Loaded:
    """Load the demo as it stands on the morning of ``today``. All or nothing.

    Raises `CannotLoad` when there is a production already, or an account with the name of one of the demo's.
    """
    calendar = Calendar(today, ZoneInfo(story.TIME_ZONE))
    production_id = mint(calendar.moment(SET_UP_DAY, "08:00"), "production")
    _check_empty()
    try:
        with transaction.atomic():
            return _load(production_id, calendar)
    except BaseException as error:
        # The database is rolled back; files are not.
        for folder in ("photos", "partial"):
            shutil.rmtree(Path(settings.MEDIA_ROOT) / folder / str(production_id), ignore_errors=True)
        if isinstance(error, Refusal):
            raise CannotLoad(f"The demo does not fit the rules: {error.message}") from error
        raise


def _check_empty() -> None:
    production = Production.objects.first()
    if production:
        raise CannotLoad(
            f"There is a production already ({production.name}); the demo wants an empty database."
        )
    names = [story.HEAD.username, *(account.username for account in story.CREW)]
    taken = User.objects.filter(username__in=names).values_list("username", flat=True).first()
    if taken:
        raise CannotLoad(f"There is an account named {taken} already; the demo makes its own.")


def _load(production_id: UUID, calendar: Calendar) -> Loaded:
    crew = _make_crew(production_id)
    book = EntryBook(crew)
    write_set_up(book, calendar)
    pictures = write_applications(book, calendar)
    write_match(book, calendar)
    written = book.in_order()
    for sender, group in itertools.groupby(written, key=lambda one: one[0]):
        entries = [entry for _, entry in group]
        for start in range(0, len(entries), ENTRIES_AT_ONCE):
            _send(production_id, crew[sender], calendar, entries[start : start + ENTRIES_AT_ONCE])
    for sha256, picture in pictures.items():
        status = receive_piece(
            production_id=production_id, sha256=sha256, offset=0, total=len(picture), piece=picture
        )
        if status.state != "stored":
            raise CannotLoad(f"A photo of the demo is {status.state}.")
    accounts = tuple(
        (account.username, account.name, account.role.value) for account in (story.HEAD, *story.CREW)
    )
    return Loaded(production_id, story.TITLE, len(written), len(pictures), accounts)


def _send(production_id: UUID, sender: Membership, calendar: Calendar, entries: list[Json]) -> None:
    results = accept_entries(
        production_id=production_id,
        sender=sender,
        device=mint(calendar.moment(SET_UP_DAY, "08:00"), f"phone of {sender.user.username}"),
        entries=entries,
    )
    for entry, result in zip(entries, results, strict=True):
        if result.result != "stored":
            what = entry["kind"].replace("_", " ")
            raise CannotLoad(
                f"An entry of the demo ({what}) is {result.result}: {result.code} {result.message}"
            )


def _make_crew(production_id: UUID) -> dict[str, Membership]:
    head = User(username=story.HEAD.username, first_name=story.HEAD.name, is_staff=True, is_superuser=True)
    validate_password(PASSWORD, head)
    head.set_password(PASSWORD)
    head.save()
    membership = create_production(
        production_id=production_id,
        document=ProductionDocument(
            name=story.TITLE,
            time_zone=story.TIME_ZONE,
            spray_room_cubic_metres=bench.SPRAY_ROOM_CUBIC_METRES,
            air_changes_per_hour=bench.AIR_CHANGES_PER_HOUR,
        ),
        head=head,
    )
    crew = {story.HEAD.username: membership}
    for account in story.CREW:
        crew[account.username] = add_crew_member(
            by=membership,
            username=account.username,
            name=account.name,
            password=PASSWORD,
            role=account.role,
        )
    return crew
