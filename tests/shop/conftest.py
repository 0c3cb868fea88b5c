from __future__ import annotations

import pytest

from tests.shop.season import Season, make_season


@pytest.fixture
def season(db: None) -> Season:
    return make_season()
