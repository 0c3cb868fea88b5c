"""Settings for a process of its own that works on the test's database: its name comes by the environment."""

from __future__ import annotations

import os

from continuity.settings import *  # noqa: F403
from continuity.settings import DATABASES

DATABASES["default"]["NAME"] = os.environ["TEST_DATABASE"]
