"""The worker, as `up` runs it beside the server, for the length of one look, or in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

from django.conf import settings
from django.db import connection

from continuity.bootstrap.places import MANAGE, ROOT
from continuity.photos.preparing import prepare_all


def prepare_photos() -> int:
    """Have everything made that is to be made. Returns how many files something was made of, or failed."""
    return prepare_all(threading.Event())


def worker_process(command: str) -> subprocess.Popen[bytes]:
    """A command that runs beside the server, in a process of its own, on the database and the files of this
    test. To be ended by the test, which must see its rows from outside: `django_db(transaction=True)`."""
    data_dir = Path(settings.MEDIA_ROOT).parent
    env = {**os.environ, "CONTINUITY_DATA_DIR": str(data_dir)}
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        link = data_dir / "continuity.sqlite3"
        if not link.exists():
            link.symlink_to(database["NAME"])
    else:
        # The same cluster, which may be known by a socket only, but the database of the tests.
        env["DATABASE_URL"] = f"{os.environ['DATABASE_URL'].rpartition('/')[0]}/{database['NAME']}"
    arguments = [sys.executable, str(MANAGE), command]
    return subprocess.Popen(arguments, cwd=ROOT, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
