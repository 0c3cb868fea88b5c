"""`manage.py bench`: how fast it is, one line a measurement, each with its goal."""

from __future__ import annotations

import json
from typing import Any

from django.core.management import get_commands
from django.core.management.base import BaseCommand, CommandError, CommandParser

from continuity.bench.installation import CannotMeasure, installation
from continuity.bench.photos import PHONES, burst, two_renditions
from continuity.bench.sync import CLIENTS, PUSHED_AT_ONCE, accept_one_by_one, bare_inserts, push_many
from continuity.cover.benchmark import example_plan, growth, simulate, time_of_cover, times_of_season

PARTS = ("all", "sync", "cover", "photos")
P95_GOAL, RATE_GOAL, PUSH_GOAL, DEMO_GOAL = 0.05, 0.1, 1.0, 0.1
SEASON_GOAL, ONE_GOAL, CALCULATION_GOAL, POWER_GOAL, ERRORS_GOAL = 1.0, 0.05, 0.01, 2.0, 4.0
RENDITIONS_GOAL, MEMORY_GOAL, BURST_GOAL = 1.15, 350.0, 2.0
DAYS = 60
SEASON_DAYS, SEASON_COPIES = 120, 200
SEASONS = 10_000_000


class Command(BaseCommand):
    help = "Measures how fast records and photos are taken in and cover is worked out, on this machine, now."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("part", nargs="?", choices=PARTS, default="all")

    def handle(self, *args: Any, part: str, **options: Any) -> None:
        try:
            if part in {"all", "sync"}:
                self._sync()
            if part in {"all", "cover"}:
                self._cover()
            if part in {"all", "photos"}:
                self._photos()
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

        self._season()
        self._calculation()

    def _season(self) -> None:
        with installation() as made:
            found = json.loads(made.run("-m", "continuity.bench.season"))
        self.stdout.write(
            f"a season of {found['days']} shoot days, {found['appliances']} appliances ({found['short']} of "
            f"them short), {found['looks']} looks, {found['logged']} logged applications, "
            f"{found['applications']} planned:"
        )
        self._line(
            f"  all of the cover from the database, with its orders: {found['whole'] * 1000:.0f} ms",
            f"under {SEASON_GOAL * 1000:.0f} ms",
            found["whole"] < SEASON_GOAL,
        )
        self._line(
            "  one appliance after one new application, with the orders of its mould, nothing known but the "
            "text of the queries: middle "
            f"{found['one'] * 1000:.0f} ms, slowest {found['slowest'] * 1000:.0f} ms",
            f"under {ONE_GOAL * 1000:.0f} ms",
            found["slowest"] < ONE_GOAL,
        )
        self._line(f"  its cover without what to order: middle {found['one_cover'] * 1000:.0f} ms")

    def _calculation(self) -> None:
        times = times_of_season(SEASON_DAYS, SEASON_COPIES)
        self._line(
            f"calculation alone, {SEASON_DAYS} days and {SEASON_COPIES} copies: {times.cover * 1000:.1f} ms",
            f"under {CALCULATION_GOAL * 1000:.0f} ms",
            times.cover < CALCULATION_GOAL,
        )
        self._line(
            f"its chances: {times.chances * 1000:.2f} ms, {times.ratio_to_plain:.2f} of the same recursion "
            f"written plainly in NumPy at {times.plain * 1000:.2f} ms"
        )
        self._line(
            f"with shelf dates on half of the copies: {times.dated * 1000:.1f} ms; "
            f"an order and its latest start: {times.reorder * 1000:.1f} ms"
        )
        for words, shelf_dates in (("copies all alike", False), ("shelf dates", True)):
            found = growth(shelf_dates=shelf_dates)
            milliseconds = ", ".join(f"{seconds * 1000:.1f}" for seconds in found.seconds)
            days = ", ".join(str(length) for length in found.days)
            self._line(
                f"growth over {days} days ({words}): {milliseconds} ms, copies to the {found.power:.2f}",
                f"{POWER_GOAL:.0f} or less",
                found.power <= POWER_GOAL,
            )
        drawn = simulate(example_plan(SEASON_DAYS, SEASON_COPIES), SEASONS)
        self._line(
            f"{drawn.seasons:,} simulated seasons: covered {drawn.simulated:.6f}, worked out "
            f"{drawn.p_covered:.6f}, {drawn.errors:.2f} standard errors apart, "
            f"at most {drawn.most_errors:.2f} on a day",
            f"{ERRORS_GOAL:.0f} or fewer",
            max(drawn.errors, drawn.most_errors) <= ERRORS_GOAL,
        )

    def _photos(self) -> None:
        two = two_renditions()
        share = two.ours / two.plain
        self._line(
            f"a JPEG of 12 million pixels to two renditions: {two.ours * 1000:.0f} ms, {share:.2f} of a plain"
            f" Pillow script with the same files at {two.plain * 1000:.0f} ms",
            f"{RENDITIONS_GOAL:.2f} or less",
            share <= RENDITIONS_GOAL,
        )
        with installation() as made, made.served() as port:
            found = burst(made, port)
        memory = max(two.memory, found.memory)
        self._line(
            f"most memory, the worker with its decoder: {memory:.0f} MB; the decoder: {two.memory:.0f} MB",
            f"under {MEMORY_GOAL:.0f} MB",
            memory < MEMORY_GOAL,
        )
        self._line(
            f"a burst of {found.photos} photos from {PHONES} phones: {found.lost} lost, "
            f"all in after {found.sent:.0f} s, all made after {found.made:.0f} s",
            "none lost",
            found.lost == 0,
        )
        self._line(
            f"the record's own request meanwhile: p95 {found.during * 1000:.0f} ms; the same {PHONES} phones "
            f"without photos: {found.without * 1000:.0f} ms; one phone alone: {found.alone * 1000:.0f} ms",
            f"under {BURST_GOAL:.0f} times that without photos",
            found.during < BURST_GOAL * found.without,
        )

    def _line(self, measured: str, goal: str = "", met: bool = True) -> None:
        judged = f" (goal: {goal}; {'met' if met else 'NOT met'})" if goal else ""
        self.stdout.write(measured + judged)
        self.stdout.flush()
