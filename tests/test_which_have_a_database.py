"""Tests that are not let at the database run once, and all others on each kind of database."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from tests.builders import Show
from tests.conftest import has_database


def test_one_that_makes_something(request: pytest.FixtureRequest, show: Show) -> None:
    assert has_database(request.node)
    assert User.objects.exists()


@pytest.mark.django_db
def test_one_that_is_marked(request: pytest.FixtureRequest) -> None:
    assert has_database(request.node)
    assert not User.objects.exists()


def test_one_that_is_neither(request: pytest.FixtureRequest) -> None:
    assert not has_database(request.node)
    with pytest.raises(RuntimeError, match="Database access not allowed"):
        User.objects.exists()
