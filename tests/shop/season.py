"""A production whose schedule begins today, as the watcher goes by the clock."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils import timezone

from continuity.cover.facts import today_of
from continuity.schedule.models import Production
from tests.builders import HAPPENED_AT, Phone, Show, make_show, new_id

Json = dict[str, Any]


@dataclass
class Season:
    """The show of `make_show` without its own shoot day and cast run: three hero copies of the brow on set, a
    mould of one cavity filled once a day, one day of transport, no day off, shot where it is noon. `days` are
    the entries of its shoot days, by days from today."""

    show: Show
    today: datetime.date
    days: dict[int, Json] = field(default_factory=dict)

    @property
    def id(self) -> UUID:
        return UUID(self.show.production)

    def date(self, ahead: int) -> str:
        return (self.today + datetime.timedelta(days=ahead)).isoformat()

    def shoot(
        self, *ahead: int, scenes: tuple[str, ...] = (), crew_call: str = "07:00", wrap: str = "18:00"
    ) -> None:
        """Plan shoot days with the brow's scene (or others) on these days from today."""
        planned = [{"scene": scene} for scene in scenes or (self.show.scene,)]
        for each in ahead:
            self.days[each] = self.show.head.entry(
                "shoot_day",
                {
                    "date": self.date(each),
                    "unit": self.show.unit,
                    "crew_call": crew_call,
                    "wrap": wrap,
                    "scenes": planned,
                },
            )
            self.show.head.send_ok(self.days[each])

    def cancel(self, ahead: int) -> None:
        day = self.days.pop(ahead)
        self.show.head.send_ok(self.show.head.edit(day, {}, withdrawn="Not shot"))

    def settings(self, **patch: Any) -> None:
        """Change the production."""
        head = self.show.head
        now = head.record(self.show.production)
        head.send_ok(head.entry("production", patch, self.show.production, now["revision"], seen=now["seq"]))

    def log(self, *outcomes: tuple[str, str], look: str | None = None, ahead: int = 0) -> Json:
        """An application of these (copy, outcome), as the set artist sends it."""
        copies = {new_id(): {"copy_used": copy, "outcome": outcome} for copy, outcome in outcomes}
        sheet = self.show.sheet(copies=copies, date=self.date(ahead), look=look or self.show.look)
        entry = self.show.set_artist.entry("application", sheet)
        self.show.set_artist.send_ok(entry)
        return entry

    def add_copies(self, number: int, **more: Any) -> list[str]:
        """More copies of the brow, on set unless said otherwise."""
        copy = {"appliance": self.show.appliance, "grade": "hero", "state": "on_set"}
        entries = [
            self.show.shop.entry("copy", {**copy, "serial": f"N-{new_id()}", **more}) for _ in range(number)
        ]
        self.show.shop.send_ok(*entries)
        return [entry["record"] for entry in entries]

    def cover(self, appliance: str | None = None) -> Json:
        """The cover of the brow, or of another appliance, as the API gives it."""
        answer = self.show.head.account.get(self.show.head.path("cover"))
        assert answer.status == 200, answer.body
        wanted = appliance or self.show.appliance
        (found,) = [each for each in answer.body["appliances"] if each["appliance"] == wanted]
        return dict(found)

    def orders(self, phone: Phone | None = None) -> list[Json]:
        return (phone or self.show.shop).records("order")

    def order(self) -> Json:
        """The one order there is."""
        (found,) = self.orders()
        return found

    def write(self, order: Json, patch: Json, role: str = "shop", **more: Any) -> Json:
        """A phone of that role writes of an order as it has last seen it; the result."""
        phone = self.show.phone(role)
        entry = phone.entry("order", patch, order["id"], order["revision"], seen=order["seq"], **more)
        return phone.send(entry)[0]

    def by_hand(self, role: str = "department_head", **more: Any) -> Json:
        """The entry of an order that a person raises."""
        document = {
            "appliance": self.show.appliance,
            "raised_by": "hand",
            "grade": "mid",
            "copies": 4,
            "needed_on": self.date(20),
            "why": "For the poster",
            **more,
        }
        return self.show.phone(role).entry("order", document)


def question(**more: Any) -> Json:
    """What may be asked of the shop."""
    return {"copies": 5, "needed_on": "2026-12-14", "why": "A day more", "asked_at": HAPPENED_AT, **more}


def make_season() -> Season:
    show = make_show()
    head = show.head
    for record in (show.shoot_day, show.cast_run):
        now = head.record(record)
        head.send_ok(head.entry(now["kind"], {}, record, now["revision"], withdrawn="Made for other tests"))
    season_of(show).settings(weekdays_off=[], time_zone=where_it_is_noon())
    return season_of(show)


def where_it_is_noon() -> str:
    """A time zone in which no other day begins while a test runs, at whatever hour and date that is."""
    return f"Etc/GMT{timezone.now().hour - 12:+d}"  # west of Greenwich is +


def season_of(show: Show) -> Season:
    """The season of a show made by `make_season`."""
    return Season(show, today_of(Production.objects.get(id=show.production)))
