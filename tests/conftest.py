"""What every server test stands on: a database in a file of its own, and photos in a directory of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.db import connections
from django.test import override_settings
from pytest_django import DjangoDbBlocker, Settings

from tests.builders import Show, make_show
from tests.kept import KeptShow
from tests.shop.season import Season, make_season, season_of

# Slow by design; the tests sign in hundreds of times.
QUICK = {"PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"]}

# The same cases at every run, and on a slow machine too.
hypothesis.settings.register_profile("tests", derandomize=True, deadline=None)
hypothesis.settings.load_profile("tests")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--only-with-database",
        action="store_true",
        help="leave out the tests that are not let at the database, and so are the same on any",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--only-with-database"):
        config.hook.pytest_deselected(items=[item for item in items if not has_database(item)])
        items[:] = filter(has_database, items)


def has_database(item: pytest.Item) -> bool:
    """Whether pytest-django lets a test at the database. It raises when any other asks for it."""
    asked_for = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
    return bool(asked_for) or item.get_closest_marker("django_db") is not None


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A database in memory locks in another way than the file that is used in earnest."""
    default = connections["default"]
    if default.vendor == "sqlite":
        default.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


def _files_in(directory: Path) -> dict[str, Any]:
    static = directory / "static"
    static.mkdir()
    return {"MEDIA_ROOT": directory / "media", "STATIC_ROOT": static, "WHITENOISE_ROOT": None}


@pytest.fixture(autouse=True)
def _own_files(settings: Settings, tmp_path: Path) -> None:
    for name, value in {**_files_in(tmp_path), **QUICK}.items():
        setattr(settings, name, value)


@pytest.fixture
def show(db: None, show_as_made: KeptShow) -> Show:
    """A production with a crew of all four roles and something of every kind on it."""
    return show_as_made.again()


@pytest.fixture
def season(db: None, season_as_made: KeptShow) -> Season:
    """A production whose schedule begins today."""
    return season_of(season_as_made.again())


@pytest.fixture(scope="session")
def show_as_made(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> KeptShow:
    return _made_once(make_show, django_db_blocker, tmp_path_factory.mktemp("show"))


@pytest.fixture(scope="session")
def season_as_made(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> KeptShow:
    return _made_once(lambda: make_season().show, django_db_blocker, tmp_path_factory.mktemp("season"))


def _made_once(make: Callable[[], Show], blocker: DjangoDbBlocker, directory: Path) -> KeptShow:
    """By way of the API, which takes longer than most of the tests that begin from it."""
    with blocker.unblock(), override_settings(**_files_in(directory), **QUICK):
        return KeptShow.of(make)
