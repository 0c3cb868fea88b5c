"""Which Python runs which command."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from types import FrameType

from continuity.bootstrap import environment
from continuity.bootstrap.console import CannotGoOn, say
from continuity.bootstrap.places import MANAGE, VENV_PYTHON


def run(arguments: Sequence[str]) -> int:
    """Runs the command line `arguments` (without the program's name) and returns the exit code.

    `up` and `verify` prepare the project first, whatever Python they are started with. Everything else is
    Django's, and runs in the project's environment, which is made first if it is missing.
    """
    signal.signal(signal.SIGTERM, _stop)
    try:
        if arguments[:1] == ["up"]:
            from continuity.bootstrap import up

            return up.run(arguments[1:])
        if arguments[:1] == ["verify"]:
            from continuity.bootstrap import verify

            return verify.run(arguments[1:])
        if environment.in_venv():
            return _django(arguments)
        environment.ensure()
        os.execv(VENV_PYTHON, [str(VENV_PYTHON), str(MANAGE), *arguments])
    except CannotGoOn as stopped:
        say(str(stopped))
        return stopped.exit_code
    except KeyboardInterrupt:
        say("Stopped.")
        return 130


def _django(arguments: Sequence[str]) -> int:
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "continuity.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line([str(MANAGE), *arguments])
    return 0


def _stop(_number: int, _frame: FrameType | None) -> None:
    # As an exception, so that what was started is stopped and what was made for this run is removed.
    sys.exit(128 + signal.SIGTERM)
