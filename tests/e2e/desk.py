"""Somebody at a computer, over the API: what a test takes for given, and files that are downloaded."""

from __future__ import annotations

import datetime
import http.cookiejar
import json
import urllib.request
from typing import Any, cast

from uuid6 import uuid7

from .phone import PASSWORD
from .served import Json


def new_id() -> str:
    return str(uuid7())


class Desk:
    """Signed in as one of the demo's crew."""

    def __init__(self, url: str, username: str) -> None:
        self.url = url
        self.device = new_id()
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self._opener = urllib.request.build_opener(cookies)
        self.csrf = self.get("/api/session")["csrf"]
        session = self.post("/api/session", {"username": username, "password": PASSWORD})
        self.csrf = session["csrf"]
        [production] = session["productions"]
        self.production, self.crew = production["id"], production["crew"]

    def bytes(self, path: str) -> bytes:
        with self._opener.open(f"{self.url}{path}", timeout=60) as answer:
            return cast(bytes, answer.read())

    def get(self, path: str) -> Json:
        return cast(Json, json.loads(self.bytes(path)))

    def post(self, path: str, body: object) -> Json:
        request = urllib.request.Request(
            f"{self.url}{path}",
            json.dumps(body).encode(),
            {"Content-Type": "application/json", "X-CSRFToken": self.csrf, "Origin": self.url},
        )
        with self._opener.open(request, timeout=60) as answer:
            return cast(Json, json.loads(answer.read()))

    def path(self, rest: str) -> str:
        return f"/api/productions/{self.production}/{rest}"

    def records(self, kind: str) -> dict[str, Json]:
        """What the feed holds of a kind, without what was withdrawn, by id: document and derived."""
        found: dict[str, Json] = {}
        after, more = 0, True
        while more:
            page = self.get(self.path(f"changes?after={after}&limit=500"))
            found.update({one["id"]: one for one in page["changes"] if one["kind"] == kind})
            after, more = page["cursor"], page["more"]
        return {key: one for key, one in found.items() if not one["withdrawn"]}

    def named(self, kind: str, name: str) -> tuple[str, Json]:
        """The record of a kind that is called so."""
        [found] = [
            (key, one["document"])
            for key, one in self.records(kind).items()
            if name in (one["document"].get("name"), one["document"].get("serial"))
        ]
        return found

    def write(self, kind: str, patch: Json, record: str | None = None) -> str:
        """Makes a record, or changes one; its id."""
        before = self.records(kind)[record] if record else None
        entry: dict[str, Any] = {
            "id": new_id(),
            "kind": kind,
            "record": record or new_id(),
            "based_on": before["revision"] if before else None,
            "happened_at": datetime.datetime.now().astimezone().isoformat(timespec="milliseconds"),
            "made_by": self.crew,
            "patch": patch,
        }
        answer = self.post(self.path("entries"), {"device": self.device, "entries": [entry]})
        [result] = answer["results"]
        assert result["result"] == "stored", result
        return str(entry["record"])


def furnish(shop: Desk, appliance: str) -> None:
    """Enters what the shop casts this appliance from: lots of gel, deadener and cap plastic, and its figures.

    The figures are constructed here; 8 : 8 : 7.5 is the trade's common example (common practice, no source).
    """
    lots = {
        use: shop.write(
            "material",
            {"name": name, "use": use, "lot": lot, "unit": unit, "amount": 2000, "low_below": 200, **more},
        )
        for use, name, lot, unit, more in (
            ("gel_a", "Platinum gel, part A", "PG-A-114", "grams", GEL),
            ("gel_b", "Platinum gel, part B", "PG-B-114", "grams", GEL),
            ("deadener", "Deadener", "DD-32", "grams", {}),
            ("cap_plastic", "Cap plastic", "CP-9", "millilitres", {"coat_dry_minutes": 10}),
        )
    }
    shop.write(
        "appliance",
        {
            "copy_grams": 23.5,
            "parts_a": 8,
            "parts_b": 8,
            "deadener_parts": 7.5,
            "area_square_centimetres": 60,
            "coat_millilitres_per_100_square_centimetres": 5,
            "gel": lots["gel_a"],
            "intrinsic_colour": [
                {"colour": "Flesh tone, light", "amount": 3, "unit": "drops", "per_grams": 50, "into": "all"}
            ],
        },
        shop.named("appliance", appliance)[0],
    )


GEL = {"pot_life_minutes": 6, "pot_life_celsius": 21, "cure_minutes": 240}
