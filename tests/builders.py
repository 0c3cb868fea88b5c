"""A production for the tests, made the way the phones make it: signed in, over the API, by entries."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Count
from django.test import Client
from uuid6 import uuid7

from continuity.sync.models import Entry, Record

Json = dict[str, Any]

PASSWORD = "gelatine and spirit 7"
HAPPENED_AT = "2026-11-25T05:00:00+00:00"
ROLES = ("department_head", "set_artist", "continuity", "shop")
PIECE = 524_288


def new_id() -> str:
    return str(uuid7())


@dataclass(frozen=True)
class Answer:
    """An answer of the server: its status, and its body where that is JSON."""

    status: int
    body: Json
    content: bytes


class Account:
    """Somebody at a browser of their own, signed in or not."""

    def __init__(self, *, enforce_csrf_checks: bool = False) -> None:
        self.client = Client(enforce_csrf_checks=enforce_csrf_checks)

    def sign_in(self, username: str, password: str = PASSWORD) -> Json:
        answer = self.post("/api/session", {"username": username, "password": password})
        assert answer.status == 200, answer.body
        return answer.body

    def get(self, path: str) -> Answer:
        return self._answer(self.client.get(path))

    def post(self, path: str, body: Any) -> Answer:
        return self.raw("POST", path, json.dumps(body).encode())

    def patch(self, path: str, body: Any) -> Answer:
        return self.raw("PATCH", path, json.dumps(body).encode())

    def raw(
        self, method: str, path: str, body: bytes, content_type: str = "application/json", **headers: str
    ) -> Answer:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self._answer(self.client.generic(method, path, body, content_type=content_type, headers=named))

    @staticmethod
    def _answer(response: Any) -> Answer:
        content = b"".join(response.streaming_content) if response.streaming else response.content
        is_json = response.headers.get("Content-Type", "").startswith("application/json")
        return Answer(response.status_code, json.loads(content) if is_json else {}, content)


@dataclass
class Phone:
    """A member of the crew with a phone: what it writes, sends and reads."""

    account: Account
    production: str
    crew: str
    username: str
    device: str = field(default_factory=new_id)

    def path(self, rest: str) -> str:
        return f"/api/productions/{self.production}/{rest}"

    def entry(
        self, kind: str, patch: Json, record: str | None = None, based_on: str | None = None, **more: Any
    ) -> Json:
        """An entry as a phone freezes it; without a record it makes one, without a basis it is its first."""
        return {
            "id": new_id(),
            "kind": kind,
            "record": record or new_id(),
            "based_on": based_on,
            "happened_at": HAPPENED_AT,
            "made_by": self.crew,
            "patch": patch,
            **more,
        }

    def edit(self, before: Json, patch: Json, **more: Any) -> Json:
        """An edit that follows the entry ``before``."""
        return self.entry(before["kind"], patch, before["record"], before["id"], **more)

    def post_entries(self, entries: Iterable[Json]) -> Answer:
        return self.account.post(self.path("entries"), {"device": self.device, "entries": list(entries)})

    def send(self, *entries: Json) -> list[Json]:
        """The result of each entry, in the order sent."""
        answer = self.post_entries(entries)
        assert answer.status == 200, answer.body
        assert answer.body["answer"] == "entries"
        results: list[Json] = answer.body["results"]
        assert [result["id"] for result in results] == [entry["id"] for entry in entries]
        return results

    def send_ok(self, *entries: Json) -> None:
        for result in self.send(*entries):
            assert result["result"] == "stored", result

    def make(self, kind: str, patch: Json) -> str:
        """A new record, stored; its id."""
        entry = self.entry(kind, patch)
        self.send_ok(entry)
        return str(entry["record"])

    def changes(self, after: int = 0, limit: int = 500) -> list[Json]:
        """Everything the feed holds after a place, page by page."""
        found: list[Json] = []
        more = True
        while more:
            answer = self.account.get(self.path(f"changes?after={after}&limit={limit}"))
            assert answer.status == 200, answer.body
            found += answer.body["changes"]
            after, more = answer.body["cursor"], answer.body["more"]
        return found

    def records(self, kind: str) -> list[Json]:
        return [change for change in self.changes() if change["kind"] == kind]

    def record(self, record_id: str) -> Json:
        (found,) = [change for change in self.changes() if change["id"] == record_id]
        return found

    def conflicts(self) -> list[Json]:
        return [change["document"] for change in self.records("conflict")]

    def cursor(self) -> int:
        return max(int(change["seq"]) for change in self.changes())

    def file_status(self, sha256: str) -> Answer:
        return self.account.get(self.path(f"files/{sha256}"))

    def send_piece(self, raw: bytes, first: int, last: int, sha256: str | None = None) -> Answer:
        """Bytes ``first`` to before ``last`` of a file."""
        return self.account.raw(
            "PUT",
            self.path(f"files/{sha256 or sha256_of(raw)}"),
            raw[first:last],
            "application/octet-stream",
            Content_Range=f"bytes {first}-{last - 1}/{len(raw)}",
        )

    def send_file(self, raw: bytes) -> Answer:
        """A whole file in pieces, as a phone sends it; the last answer."""
        for first in range(0, len(raw), PIECE):
            answer = self.send_piece(raw, first, min(first + PIECE, len(raw)))
        return answer

    def hand_in(self, raw: bytes) -> Answer:
        return self.account.raw("POST", self.path("unsent"), raw, "application/x-ndjson")


@dataclass
class Show:
    """A production with its crew, and the ids of what is on it."""

    head: Phone
    set_artist: Phone
    continuity: Phone
    shop: Phone
    performer: str
    other_performer: str
    character: str
    appliance: str
    look: str
    copies: list[str]
    adhesive: str
    edge_solvent: str
    paint: str
    scene: str
    unit: str
    shoot_day: str
    mould: str
    cast_run: str

    @property
    def production(self) -> str:
        return self.head.production

    def phone(self, role: str) -> Phone:
        return {
            "department_head": self.head,
            "set_artist": self.set_artist,
            "continuity": self.continuity,
            "shop": self.shop,
        }[role]

    def sheet(self, *copies: str, **more: Any) -> Json:
        """An application of these copies, as a whole document."""
        return {
            "performer": self.performer,
            "look": self.look,
            "date": "2026-11-25",
            "artist": self.set_artist.crew,
            "copies": {new_id(): {"copy_used": copy} for copy in copies},
            **more,
        }

    def application(self, *copies: str, phone: Phone | None = None, **more: Any) -> Json:
        """The first entry of an application."""
        return (phone or self.set_artist).entry("application", self.sheet(*copies, **more))

    def worn(self) -> tuple[str, str]:
        """An application and the sha256 of a photo of it; the first there is, or one made for this."""
        for record in self.head.records("application"):
            for shown in record["document"]["photos"].values():
                if not record["withdrawn"]:
                    return record["id"], shown["sha256"]
        raw = b"a photo that never comes"
        made = self.set_artist.make("application", self.sheet(self.copies[2], photos=photos(photo(raw))))
        return made, sha256_of(raw)

    def measured_photo(self) -> Json:
        """A photo as it is to be measured, with a grey card in it."""
        application, sha256 = self.worn()
        card = {"sort": "grey", "spot": {"x": 0.5, "y": 0.9, "radius": 0.05}}
        return {"application": application, "sha256": sha256, "card": card}

    def recipe(self, **more: Any) -> Json:
        return {
            "name": "Cut, fresh",
            "look": self.look,
            "steps": [{"zone": "wound", "paint": self.paint, "mix": "2:1 red to yellow"}],
            **more,
        }


def sign_up_head(name: str = "Head") -> tuple[Account, str]:
    """An account that may make productions, signed in; and its user name."""
    username = f"head-{new_id()[-10:]}"
    User.objects.create_superuser(username, password=PASSWORD, first_name=name)
    account = Account()
    account.sign_in(username)
    return account, username


def make_production(account: Account, name: str = "The Long Winter") -> tuple[str, str]:
    """A production made by this account; its id and the head's crew id."""
    answer = account.post("/api/productions", {"id": new_id(), "name": name})
    assert answer.status == 201, answer.body
    return answer.body["id"], answer.body["crew"]


def add_crew(head: Phone, role: str, name: str = "") -> Phone:
    """Somebody new on the crew, signed in on a phone of their own."""
    username = f"{role}-{new_id()[-10:]}"
    member = {"username": username, "name": name or role, "password": PASSWORD, "role": role}
    answer = head.account.post(head.path("crew"), member)
    assert answer.status == 201, answer.body
    account = Account()
    # Signing in has tests of its own, and every test of a production would do it three times more.
    account.client.force_login(
        User.objects.get(username=username), "django.contrib.auth.backends.ModelBackend"
    )
    return Phone(account, head.production, answer.body["crew"], username)


def another_phone(phone: Phone) -> Phone:
    """A second device of the same person, signed in on its own."""
    account = Account()
    account.sign_in(phone.username)
    return Phone(account, phone.production, phone.crew, phone.username)


def make_show(name: str = "The Long Winter") -> Show:
    """A production with everything on it, made over the API."""
    account, username = sign_up_head()
    production, crew = make_production(account, name)
    head = Phone(account, production, crew, username)
    phones = {role: add_crew(head, role) for role in ROLES[1:]}
    e = head.entry
    performer = e("performer", {"name": "Ana"})
    other = e("performer", {"name": "Bo"})
    character = e("character", {"name": "Mara", "performer": performer["record"]})
    appliance = e(
        "appliance",
        {
            "name": "Brow",
            "encapsulator": "alcohol_soluble",
            "edge_solvent": "alcohol",
            "performer": performer["record"],
        },
    )
    look = e(
        "look",
        {"character": character["record"], "name": "Cut brow", "appliances": [appliance["record"]]},
    )
    copies = [
        e(
            "copy",
            {"appliance": appliance["record"], "serial": f"B{n}", "grade": "hero", "state": "on_set"},
        )
        for n in (1, 2, 3)
    ]
    adhesive = e("material", {"name": "Face gum", "use": "adhesive", "contains": ["colophony"]})
    solvent = e("material", {"name": "Edge melt", "use": "edge_solvent", "solvent": "alcohol"})
    paint = e("material", {"name": "Blood red", "use": "paint"})
    unit = e("unit", {"name": "Main"})
    scene = e(
        "scene",
        {"number": "42", "worn": [{"character": character["record"], "look": look["record"]}]},
    )
    day = e(
        "shoot_day",
        {
            "date": "2026-11-26",
            "unit": unit["record"],
            "crew_call": "07:00",
            "wrap": "18:00",
            "scenes": [{"scene": scene["record"]}],
        },
    )
    mould = e("mould", {"name": "Brow mould", "appliances": [appliance["record"]], "cycle_minutes": 240})
    run = e(
        "cast_run",
        {
            "mould": mould["record"],
            "appliance": appliance["record"],
            "cast_on": "2026-11-20",
            "due_on": "2026-11-28",
            "copies_planned": 2,
        },
    )
    head.send_ok(
        performer, other, character, appliance, look, *copies, adhesive, solvent, paint, unit, scene, day,
        mould, run,
    )  # fmt: skip
    return Show(
        head=head,
        set_artist=phones["set_artist"],
        continuity=phones["continuity"],
        shop=phones["shop"],
        performer=performer["record"],
        other_performer=other["record"],
        character=character["record"],
        appliance=appliance["record"],
        look=look["record"],
        copies=[copy["record"] for copy in copies],
        adhesive=adhesive["record"],
        edge_solvent=solvent["record"],
        paint=paint["record"],
        scene=scene["record"],
        unit=unit["record"],
        shoot_day=day["record"],
        mould=mould["record"],
        cast_run=run["record"],
    )


# -- photos and files of what was not sent ------------------------------------------------------------


def sha256_of(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def photo(raw: bytes, media_type: str = "image/jpeg", **more: Any) -> Json:
    """The manifest of a photo."""
    return {
        "sha256": sha256_of(raw),
        "size": len(raw),
        "media_type": media_type,
        "angle": "front",
        "moment": "applied",
        "taken_at": HAPPENED_AT,
        **more,
    }


def photos(*manifests: Json) -> Json:
    return {new_id(): manifest for manifest in manifests}


def unsent_file(phone: Phone, entries: Iterable[Json], files: Iterable[bytes] = ()) -> bytes:
    """The file that a phone exports: a heading, then entries, then photos, one JSON value a line."""
    heading = {
        "continuity_unsent": 1,
        "production": phone.production,
        "device": phone.device,
        "exported_at": HAPPENED_AT,
    }
    lines: list[Json] = [heading, *({"entry": entry} for entry in entries)]
    for raw in files:
        content = base64.b64encode(raw).decode()
        named = {"sha256": sha256_of(raw), "size": len(raw), "media_type": "image/jpeg", "base64": content}
        lines.append({"photo": named})
    return b"".join(json.dumps(line).encode() + b"\n" for line in lines)


# -- reading the database afterwards --------------------------------------------------------------------


def assert_kept_once(show: Show, *entries: Json) -> None:
    """Each of these entries is stored exactly once, as it was sent, and is part of its record, or shown in a
    conflict, or waits for the entry it is based on; and the feed and the tables do not disagree."""
    ids = [UUID(entry["id"]) for entry in entries]
    stored = {entry.id: entry for entry in Entry.objects.filter(id__in=ids)}
    shown = {conflict["entry"] for conflict in show.head.conflicts()}
    for sent in entries:
        entry = stored[UUID(sent["id"])]
        assert entry.patch == sent["patch"]
        assert str(entry.record) == sent["record"]
        assert str(entry.production_id) == show.production
        if entry.conflict:
            assert sent["id"] in shown
    assert_feed_is_whole(show)


def assert_feed_is_whole(show: Show) -> None:
    """Every record of the tables is in the feed once, at a place of its own; no chain has two beginnings."""
    production = UUID(show.production)
    changes = show.head.changes()
    places = [change["seq"] for change in changes]
    assert places == sorted(set(places))
    assert {change["id"] for change in changes} == {
        str(key) for key in Record.objects.filter(production=production).values_list("id", flat=True)
    }
    entries = Entry.objects.filter(production=production)
    beginnings = entries.filter(based_on=None, state="applied").values("record").annotate(n=Count("id"))
    assert all(beginning["n"] == 1 for beginning in beginnings)
    applied = entries.filter(state="applied").values_list("seq", flat=True)
    assert len(set(applied)) == len(applied)


def table_counts() -> Mapping[str, int]:
    """How many rows each of the project's tables holds."""
    from django.apps import apps

    ours = {
        *("sync", "people", "schedule", "stock", "shop", "deliveries", "applications", "photos", "match"),
        "auth",
    }
    return {
        model._meta.label: model._default_manager.count()
        for model in apps.get_models()
        if model._meta.app_label in ours
    }
