"""A phone as the server sees it: one connection, a session, entries."""

from __future__ import annotations

import http.client
import json
import time
from typing import Any

from uuid6 import uuid7

from continuity.bench.installation import USERNAME, CannotMeasure

Json = dict[str, Any]

HAPPENED_AT = "2026-03-02T05:00:00+00:00"


class Phone:
    """Signed in on the server at ``port`` of the loopback address."""

    def __init__(self, port: int, password: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.cookies: dict[str, str] = {}
        self.token = self.ask("GET", "/api/session")["csrf"]
        sign_in = {"username": USERNAME, "password": password}
        self.token = self.ask("POST", "/api/session", json.dumps(sign_in).encode())["csrf"]

    def ask(
        self, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None
    ) -> Json:
        """The answer's JSON. Raises `CannotMeasure` for anything but success."""
        headers = {"Content-Type": "application/json", **(headers or {})}
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            headers["X-CSRFToken"] = getattr(self, "token", "")
        self.connection.request(method, path, body, headers)
        response = self.connection.getresponse()
        content = response.read()
        if response.status not in {200, 201}:
            raise CannotMeasure(
                f"{method} {path}: {response.status} {content[:500].decode(errors='replace')}"
            )
        for name, value in response.getheaders():
            if name.lower() == "set-cookie":
                cookie, _, rest = value.partition("=")
                self.cookies[cookie] = rest.partition(";")[0]
        answer: Json = json.loads(content)
        return answer

    def has(self, path: str) -> bool:
        """Whether there is something under this address, all of it read."""
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        self.connection.request("GET", path, headers={"Cookie": cookies})
        response = self.connection.getresponse()
        return bool(response.read()) and response.status == 200

    def close(self) -> None:
        self.connection.close()


class Crew:
    """A production made over the API, with what an application refers to."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.production = str(uuid7())
        made = phone.ask("POST", "/api/productions", _body({"id": self.production, "name": "Bench"}))
        self.crew = made["crew"]
        self.device = str(uuid7())
        self.entries_path = f"/api/productions/{self.production}/entries"
        performer = self.entry("performer", {"name": "Performer"})
        character = self.entry("character", {"name": "Character", "performer": performer["record"]})
        appliance = {"name": "Brow", "encapsulator": "alcohol_soluble", "edge_solvent": "alcohol"}
        brow = self.entry("appliance", {**appliance, "performer": performer["record"]})
        worn = {"character": character["record"], "name": "Cut", "appliances": [brow["record"]]}
        look = self.entry("look", worn)
        gum = self.entry("material", {"name": "Gum", "use": "adhesive"})
        solvent = self.entry("material", {"name": "Melt", "use": "edge_solvent", "solvent": "alcohol"})
        in_scene = [{"character": character["record"], "look": look["record"]}]
        scene = self.entry("scene", {"number": "42", "worn": in_scene})
        self.send([performer, character, brow, look, gum, solvent, scene])
        self.appliance = brow["record"]
        self.sheet = {
            "performer": performer["record"],
            "look": look["record"],
            "date": "2026-03-02",
            "artist": self.crew,
            "scenes": [scene["record"]],
            "adhesives": {str(uuid7()): {"zone": "brow", "material": gum["record"]}},
            "edge_solvent": solvent["record"],
            "started_at": HAPPENED_AT,
        }
        self.serial = 0

    def entry(self, kind: str, patch: Json) -> Json:
        return {
            "id": str(uuid7()),
            "kind": kind,
            "record": str(uuid7()),
            "based_on": None,
            "happened_at": HAPPENED_AT,
            "made_by": self.crew,
            "patch": patch,
        }

    def body(self, entries: list[Json]) -> bytes:
        return _body({"device": self.device, "entries": entries})

    def send(self, entries: list[Json]) -> float:
        """Push the entries; seconds until the answer. Raises `CannotMeasure` unless all were stored."""
        return timed_push(self.phone, self.entries_path, self.body(entries), len(entries))

    def applications(self, count: int) -> list[Json]:
        """So many applications, each of a copy of its own that is on the server already."""
        copies = []
        for _ in range(count):
            self.serial += 1
            copy = {"appliance": self.appliance, "serial": f"B{self.serial}", "grade": "hero"}
            copies.append(self.entry("copy", {**copy, "state": "on_set"}))
        for first in range(0, count, 500):
            self.send(copies[first : first + 500])
        return [
            self.entry("application", {**self.sheet, "copies": {str(uuid7()): {"copy_used": copy["record"]}}})
            for copy in copies
        ]


def timed_push(phone: Phone, path: str, body: bytes, count: int) -> float:
    """Seconds from sending to having the answer. Raises `CannotMeasure` unless all ``count`` were stored."""
    start = time.perf_counter()
    answer = phone.ask("POST", path, body)
    seconds = time.perf_counter() - start
    results = [result["result"] for result in answer["results"]]
    if results != ["stored"] * count:
        raise CannotMeasure(f"Not all was stored: {next(iter(answer['results']), None)}")
    return seconds


def _body(content: Json) -> bytes:
    return json.dumps(content).encode()
