"""What every server test stands on: a database in a file of its own, and photos in a directory of its own."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connections
from pytest_django import Settings

from tests.builders import Show, make_show


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A database in memory locks in another way than the file that is used in earnest."""
    default = connections["default"]
    if default.vendor == "sqlite":
        default.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(autouse=True)
def _own_files(settings: Settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_ROOT.mkdir()
    settings.WHITENOISE_ROOT = None
    # Slow by design; the tests sign in hundreds of times.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def show(db: None) -> Show:
    """A production with a crew of all four roles and something of every kind on it."""
    return make_show()
