"""`python3 manage.py load_demo`: an invented production to look around in, and four accounts."""

from __future__ import annotations

import datetime
from argparse import ArgumentTypeError
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from continuity.demo.loader import PASSWORD, CannotLoad, load_demo, today_of_demo


class Command(BaseCommand):
    help = "Load an invented production into an empty database: three weeks of shooting, one of them done."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--today",
            type=_date,
            metavar="YYYY-MM-DD",
            help="the shoot day the demo stands on (default: today where the production shoots)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loaded = load_demo(options["today"] or today_of_demo())
        except CannotLoad as reason:
            raise CommandError(str(reason)) from None
        self.stdout.write(f"Loaded {loaded.title}: {loaded.entries} entries, {loaded.photos} drawn photos.")
        self.stdout.write(f"Accounts of the demo, all with the password {PASSWORD}:")
        for username, name, role in loaded.accounts:
            self.stdout.write(f"  {username:<12}{name}, {role.replace('_', ' ')}")


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a date such as 2026-11-25") from None
