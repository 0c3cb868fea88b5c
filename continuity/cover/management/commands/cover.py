"""`python3 manage.py cover --plan FILE`: the cover of one appliance, and what to order, from a JSON plan to
JSON.

The plan is described in `continuity/cover/plan_file.py`.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from continuity.cover.calculation import work_out_cover
from continuity.cover.plan import InvalidPlan
from continuity.cover.plan_file import MOST_BYTES, cover_as_json, read_plan_and_shop, reorder_as_json
from continuity.cover.reorder import work_out_reorder

EXIT_BAD_INPUT = 2


class Command(BaseCommand):
    help = "Work out the cover of one appliance, and what to order, from a plan in JSON and print it as JSON."
    # The plan holds everything: no database, so nothing to check or migrate first.
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--plan", required=True, metavar="FILE", help="the plan, a JSON file; - reads standard input"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            plan, shop = read_plan_and_shop(_content(options["plan"]))
            answer = cover_as_json(work_out_cover(plan))
            if shop is not None:
                answer["reorder"] = reorder_as_json(work_out_reorder(plan, shop))
        except InvalidPlan as error:
            self.stderr.write(str(error))
            raise SystemExit(EXIT_BAD_INPUT) from None
        self.stdout.write(json.dumps(answer, indent=2, allow_nan=False))


def _content(name: str) -> bytes:
    if name == "-":
        return sys.stdin.buffer.read(MOST_BYTES + 1)
    try:
        with open(name, "rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "not a file name"
        raise InvalidPlan("--plan", f"cannot be read: {why}") from None
