"""`manage.py bench`: how fast it is, one line a measurement, each with its goal."""

from __future__ import annotations

from typing import Any

from django.core.management import get_commands
from django.core.management.base import BaseCommand, CommandError, CommandParser

from continuity.bench.installation import CannotMeasure, installation
from continuity.bench.sync import CLIENTS, PUSHED_AT_ONCE, accept_one_by_one, bare_inserts, push_many
from continuity.cover.benchmark import time_of_cover

PARTS = ("all", "sync", "cover")
P95_GOAL, RATE_GOAL, PUSH_GOAL, DEMO_GOAL = 0.05, 0.1, 1.0, 0.1
DAYS = 60


class Command(BaseCommand):
    help = "Measures how fast records are taken in and cover is worked out, on this machine, now."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("part", nargs="?", choices=PARTS, default="all")

    def handle(self, *args: Any, part: str, **options: Any) -> None:
        try:
            if part != "cover":
                self._sync()
            if part != "sync":
                self._cover()
        except CannotMeasure as why:
            raise CommandError(str(why)) from None

    def _sync(self) -> None:
        with installation() as made:
            bare = bare_inserts(made.data_dir)
            with made.served() as port:
                one = accept_one_by_one(made, port)
                push = push_many(made, port)
        share = one.rate / bare
        self._line(
            f"one record, {CLIENTS} clients: p95 {one.p95 * 1000:.0f} ms",
            f"under {P95_GOAL * 1000:.0f} ms",
            one.p95 < P95_GOAL,
        )
        self._line(
            f"one record, {CLIENTS} clients: {one.rate:.0f}/s, {share:.2f} of bare sqlite3 at {bare:.0f}/s",
            f"{RATE_GOAL:.2f} or more",
            share >= RATE_GOAL,
        )
        self._line(
            f"{PUSHED_AT_ONCE} records in one push: {push:.2f} s, "
            f"{push / PUSHED_AT_ONCE * bare:.1f} bare inserts a record",
            f"under {PUSH_GOAL:.0f} s",
            push < PUSH_GOAL,
        )

    def _cover(self) -> None:
        one = time_of_cover(DAYS)
        self._line(f"cover of one appliance, {DAYS} days: {one * 1000:.1f} ms")
        if "load_demo" not in get_commands():
            self.stdout.write("cover of the demo: not measured, there is no demo")
            return
        with installation() as made:
            appliances, seconds = made.run("-m", "continuity.bench.demo_cover").split()
        demo = float(seconds)
        self._line(
            f"cover of the demo, {appliances} appliances: {demo * 1000:.1f} ms, "
            f"{demo / one:.1f} of one appliance",
            f"under {DEMO_GOAL * 1000:.0f} ms",
            demo < DEMO_GOAL,
        )

    def _line(self, measured: str, goal: str = "", met: bool = True) -> None:
        judged = f" (goal: {goal}; {'met' if met else 'NOT met'})" if goal else ""
        self.stdout.write(measured + judged)
        self.stdout.flush()
