"""What keeps the demo from being loaded, and what a failed load leaves behind: nothing."""

from __future__ import annotations

import errno
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from pytest_django import Settings

from continuity.demo import history, loader, match, story
from continuity.demo.sheets import UnansweredWarning
from continuity.people.documents import Role
from continuity.photos.services import FileStatus, receive_piece
from continuity.schedule.models import Production
from continuity.sync.models import Entry, Record

pytestmark = pytest.mark.django_db


def _nothing_is_left(media: Path) -> None:
    assert not Production.objects.exists()
    assert not Entry.objects.exists()
    assert not Record.objects.exists()
    assert not User.objects.exists()
    assert not [path for path in media.rglob("*") if path.is_file()]


def test_an_account_with_one_of_its_names_is_left_alone() -> None:
    theirs = User.objects.create_user("artist", password="somebody else's own")
    with pytest.raises(CommandError, match="There is an account named artist already"):
        call_command("load_demo")
    assert list(User.objects.all()) == [theirs]
    assert not Production.objects.exists()


def test_what_is_no_date_is_refused() -> None:
    with pytest.raises(CommandError, match="'tomorrow' is not a date such as 2026-11-25"):
        call_command("load_demo", "--today", "tomorrow")


def test_what_the_rules_refuse_undoes_everything(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    """Case constructed here: the account that writes the appliances may not."""
    crew = [replace(one, role=Role.CONTINUITY) if one.username == "shop" else one for one in story.CREW]
    monkeypatch.setattr(story, "CREW", tuple(crew))
    with pytest.raises(CommandError, match="not_allowed Your role may not write a record of kind material"):
        call_command("load_demo")
    _nothing_is_left(Path(settings.MEDIA_ROOT))


def test_a_photo_that_cannot_be_kept_undoes_everything(
    monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    """Case constructed here: the disk is full at the last photo, when the others have been stored."""
    last = history.APPLICATIONS[-1]
    few = (replace(last, photos=last.photos[:1]), history.APPLICATIONS[0])
    monkeypatch.setattr(history, "APPLICATIONS", few)
    for spoken_of in ("VERDICTS", "MEASURED"):
        monkeypatch.setattr(match, spoken_of, ())
    media, kept = Path(settings.MEDIA_ROOT), []

    def full_at_the_second(**piece: Any) -> FileStatus:
        kept.append([path for path in media.rglob("*") if path.is_file()])
        if len(kept) == 1:
            return receive_piece(**piece)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(loader, "receive_piece", full_at_the_second)
    with pytest.raises(OSError, match="No space left"):
        call_command("load_demo")
    assert len(kept) == 2
    assert kept[1]
    _nothing_is_left(media)


def test_a_warning_nobody_answered_undoes_everything(
    monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    """Case constructed here: a sheet past the wear limit without a word of why."""
    answered = next(one for one in history.APPLICATIONS if dict(one.answers).get("wear_limit_passed"))
    monkeypatch.setattr(history, "APPLICATIONS", (replace(answered, answers=()),))
    with pytest.raises(UnansweredWarning, match="past its limit of 4 h 00 min"):
        call_command("load_demo")
    _nothing_is_left(Path(settings.MEDIA_ROOT))
