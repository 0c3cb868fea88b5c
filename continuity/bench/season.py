"""`python -m continuity.bench.season`: prints, as JSON, what the cover of a whole season takes from the
database.

A program of its own, because the season is made in a data directory of its own. Its rows are written straight
into the tables: what is measured is the reading.
"""

from __future__ import annotations

import datetime
import gc
import json
import os
import random
import statistics
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID

from uuid6 import uuid7

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.cover.covers import ApplianceCover
    from continuity.schedule.models import Production

SHOOT_DAYS, APPLIANCES, LOOKS, LOGGED = 120, 40, 400, 3_000
SCENES_A_DAY, WORN_A_SCENE = 3, 3
PERFORMERS, OWN, GENERIC, MOULDS = 18, 2, 4, 30
REPEATS = 7
SEED = 20_260_302


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "continuity.settings")
    import django

    django.setup()
    from continuity.cover.covers import covers_of
    from continuity.cover.facts import read_facts
    from continuity.cover.selectors import cover_of_appliances, cover_of_production

    season = _Season()
    covers = cover_of_production(season.production.id)
    season.raise_orders(covers)
    whole = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        cover_of_production(season.production.id)
        whole.append(time.perf_counter() - start)
    # As in a process that has been up for a while: the queries have been put together, for one appliance and
    # for those that share a mould. And as in the watcher, the collector of garbage does not go through what
    # the program consists of; here that is the season's rows as well.
    for found in covers[:GENERIC] + covers[-GENERIC:]:
        cover_of_appliances(season.production.id, [UUID(found.appliance_id)])
    gc.collect()
    gc.freeze()
    one, covers_alone = [], []
    for appliance in [found.appliance_id for found in covers]:
        season.log_one(UUID(appliance))
        start = time.perf_counter()
        cover_of_appliances(season.production.id, [UUID(appliance)])
        one.append(time.perf_counter() - start)
        start = time.perf_counter()
        facts = read_facts(season.production.id, appliance_ids=[UUID(appliance)])
        covers_of(replace(facts, moulds=()), {appliance})
        covers_alone.append(time.perf_counter() - start)
    print(
        json.dumps(
            {
                "appliances": len(covers),
                "applications": sum(sum(found.applications.values()) for found in covers),
                "days": SHOOT_DAYS,
                "looks": LOOKS,
                "logged": LOGGED,
                "short": sum(not found.at_target for found in covers),
                "whole": statistics.median(whole),
                "one": statistics.median(one),
                "one_cover": statistics.median(covers_alone),
                "slowest": max(one),
            }
        )
    )


class _Season:
    """All shoot days lie ahead and all that is logged lies behind, so that nothing is left out. Each
    performer has `OWN` appliances, and `GENERIC` are for all of them and asked for in two grades. Every
    second appliance is far short of copies, every second has shelf dates, every third a cast run that is due.
    A case made up here.
    """

    def __init__(self) -> None:
        from django.db import transaction

        from continuity.cover.facts import today_of

        self.random = random.Random(SEED)  # noqa: S311
        self.production: Production = self._production()
        self.today = today_of(self.production)
        with transaction.atomic():
            self._people()
            self._stock()
            self._story()
            self._copies()
            self._log()

    @property
    def mine(self) -> dict[str, Any]:
        return {"production_id": self.production.id}

    def _date(self, ahead: int) -> datetime.date:
        return self.today + datetime.timedelta(days=ahead)

    def _production(self) -> Production:
        from continuity.schedule.models import Production

        return Production.objects.create(
            name="Season", time_zone="UTC", cover_target=0.98, prior_good=9, prior_spoiled=1
        )

    def _people(self) -> None:
        from django.contrib.auth.models import User

        from continuity.people.models import Membership, Performer

        user = User.objects.create(username="season")
        self.artist = Membership.objects.create(user=user, role="set_artist", **self.mine)
        self.performers = Performer.objects.bulk_create(
            Performer(name=f"Performer {n}", **self.mine) for n in range(PERFORMERS)
        )

    def _own(self, number: int) -> Any:
        """Whose the appliance of that number is; None for the generic ones, the first."""
        return None if number < GENERIC else self.performers[(number - GENERIC) // OWN]

    def _stock(self) -> None:
        from continuity.stock.models import Appliance, CastRun, Mould

        self.appliances = Appliance.objects.bulk_create(
            Appliance(
                name=f"Appliance {n:02}",
                grade="hero",
                encapsulator="alcohol_soluble",
                edge_solvent="alcohol",
                copies_per_application=1,
                wear_limit_minutes=600,
                performer=self._own(n),
                shelf_life_days=120 if n % 4 < 2 else None,
                **self.mine,
            )
            for n in range(APPLIANCES)
        )
        self.moulds = Mould.objects.bulk_create(
            Mould(name=f"Mould {n:02}", cavities=2, cycles_per_day=1, cycle_minutes=480, **self.mine)
            for n in range(MOULDS)
        )
        through = Mould.appliances.through
        through.objects.bulk_create(
            through(mould_id=self.moulds[n % MOULDS].id, appliance_id=appliance.id)
            for n, appliance in enumerate(self.appliances)
        )
        runs = []
        for n, appliance in enumerate(self.appliances):
            mould = {"mould_id": self.moulds[n % MOULDS].id, "appliance_id": appliance.id, **self.mine}
            past = {"cast_on": self._date(-20), "due_on": self._date(-18)}
            runs.append(CastRun(copies_planned=20, good=17, **past, **mould))
            if n % 3 == 0:
                ahead = {"cast_on": self._date(-1), "due_on": self._date(6)}
                runs.append(CastRun(copies_planned=4, **ahead, **mould))
        CastRun.objects.bulk_create(runs)

    def _story(self) -> None:
        from continuity.schedule.models import (
            Character,
            Look,
            PlannedScene,
            Scene,
            SceneWorn,
            ShootDay,
            Unit,
        )

        unit = Unit.objects.create(name="Main", **self.mine)
        characters = Character.objects.bulk_create(
            Character(name=performer.name, performer=performer, **self.mine) for performer in self.performers
        )
        self.worn: dict[UUID, list[UUID]] = {}
        looks, through, rows = [], Look.appliances.through, []
        for n in range(LOOKS):
            character = characters[n % PERFORMERS]
            begin = GENERIC + n % PERFORMERS * OWN
            on, asked = self.appliances[begin : begin + OWN], {}
            if n % 4 == 0:
                on.append(self.random.choice(self.appliances[:GENERIC]))
                asked = {str(on[-1].id): "background"} if n % 8 else {}
            looks.append(Look(character=character, name=f"Look {n}", position=n, grades=asked, **self.mine))
            self.worn[looks[-1].id] = [each.id for each in on]
            rows += [through(look_id=looks[-1].id, appliance_id=each.id) for each in on]
        self.looks = Look.objects.bulk_create(looks)
        through.objects.bulk_create(rows)
        days = ShootDay.objects.bulk_create(
            # Six days a week.
            ShootDay(
                date=self._date(n * 7 // 6),
                unit=unit,
                crew_call=datetime.time(7),
                wrap=datetime.time(18),
                **self.mine,
            )
            for n in range(SHOOT_DAYS)
        )
        scenes = Scene.objects.bulk_create(
            Scene(number=str(n), position=n, page_eighths=4 + n % 9, **self.mine)
            for n in range(SHOOT_DAYS * SCENES_A_DAY)
        )
        worn, planned = [], []
        self.needed: dict[UUID, int] = dict.fromkeys((each.id for each in self.appliances), 0)
        for n, scene in enumerate(scenes):
            for at in range(WORN_A_SCENE):
                # The performers in turn, each in one of their looks.
                performer = (n * WORN_A_SCENE + at) % PERFORMERS
                look = self.random.choice(self.looks[performer::PERFORMERS])
                worn.append(SceneWorn(scene=scene, character=look.character, look=look))
                for appliance in self.worn[look.id]:
                    self.needed[appliance] += 1
            day, position = days[n // SCENES_A_DAY], n % SCENES_A_DAY
            planned.append(PlannedScene(shoot_day=day, scene=scene, position=position))
        SceneWorn.objects.bulk_create(worn)
        PlannedScene.objects.bulk_create(planned)

    def _copies(self) -> None:
        from continuity.stock.models import Copy

        copies = []
        for n, appliance in enumerate(self.appliances):
            number = self.needed[appliance.id] * (13 if n % 2 else 7) // 10
            for at in range(number):
                coming = at >= number * 6 // 10
                dated = n % 4 < 2 and not coming
                copies.append(
                    Copy(
                        appliance=appliance,
                        serial=f"{n:02}-{at:03}",
                        grade="background" if n < GENERIC and at % 3 == 0 else "hero",
                        told_state="in_transit" if coming else "on_set",
                        state="in_transit" if coming else "on_set",
                        expected_on=self._date(5 + at // 5 * 7) if coming else None,
                        use_by=self._date(60 + at // 10 * 20) if dated else None,
                        **self.mine,
                    )
                )
        Copy.objects.bulk_create(copies)

    def _log(self) -> None:
        from continuity.applications.models import Application, CopyUse
        from continuity.stock.models import Copy

        rates = {appliance.id: self.random.betavariate(18, 2) for appliance in self.appliances}
        copies, uses, applications = [], [], []
        for n in range(LOGGED):
            look = self.looks[n % LOOKS]
            appliance = self.random.choice(self.worn[look.id])
            copy = Copy(
                appliance_id=appliance,
                serial=f"used-{n:04}",
                grade="hero",
                told_state="on_set",
                state="used_up",
                **self.mine,
            )
            application = self._application(look, appliance, self._date(-1 - n % 100), n)
            going_well = self.random.random() < rates[appliance]
            outcome = "good" if going_well else self.random.choice(("spoiled", "spoiled", "lost"))
            uses.append(CopyUse(application=application, item=uuid7(), copy_used=copy, outcome=outcome))
            copies.append(copy)
            applications.append(application)
        Copy.objects.bulk_create(copies)
        Application.objects.bulk_create(applications)
        CopyUse.objects.bulk_create(uses)

    def _application(self, look: Any, appliance: UUID, date: datetime.date, number: int) -> Any:
        from continuity.applications.models import Application

        return Application(
            performer_id=look.character.performer_id,
            look=look,
            date=date,
            artist=self.artist,
            first_seq=number,
            **self.mine,
        )

    def raise_orders(self, covers: Sequence[ApplianceCover]) -> None:
        """The orders that the watcher would have raised by now."""
        from django.utils import timezone

        from continuity.cover.services import order_for
        from continuity.sync.models import Entry, Record

        now = timezone.now()
        entry = Entry.objects.create(
            id=uuid7(),
            kind="order",
            record=uuid7(),
            patch={},
            happened_at=now,
            received_at=now,
            device=uuid7(),
            made_by=self.artist,
            sent_by=self.artist,
            body_sha256="0" * 64,
            state="applied",
            seq=1,
            production=self.production,
        )
        orders = [order for found in covers if (order := order_for(found))]
        Record.objects.bulk_create(
            Record(
                id=uuid7(),
                production=self.production,
                kind="order",
                document=order.model_dump(mode="json", exclude_none=True),
                revision=entry,
                seq=number,
            )
            for number, order in enumerate(orders, 1)
        )

    def log_one(self, appliance: UUID) -> None:
        """One copy of the appliance on set goes on well today."""
        from continuity.applications.models import CopyUse
        from continuity.stock.models import Copy

        look = next(look for look in self.looks if appliance in self.worn[look.id])
        copy = Copy.objects.filter(appliance_id=appliance, state="on_set").order_by("serial")[0]
        application = self._application(look, appliance, self.today, LOGGED)
        application.save(force_insert=True)
        CopyUse.objects.create(application=application, item=uuid7(), copy_used=copy, outcome="good")
        Copy.objects.filter(id=copy.id).update(state="applied")


if __name__ == "__main__":
    main()
