"""How fast entries are taken in, over HTTP from a served installation."""

from __future__ import annotations

import json
import math
import sqlite3
import statistics
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from continuity.bench.installation import CannotMeasure, Installation
from continuity.bench.phone import Crew, Phone, timed_push

CLIENTS = 16
RECORDS_A_CLIENT = 60
WARM_UP = 5
PUSHED_AT_ONCE = 500
PUSHES = 3
BARE_INSERTS = 1000


@dataclass(frozen=True)
class Accepting:
    """One record a request: the 95th percentile of the answer's time in seconds, and records a second."""

    p95: float
    rate: float


def accept_one_by_one(installation: Installation, port: int) -> Accepting:
    """Sixteen phones, each sending one application after the other as fast as it is answered."""
    crew = Crew(Phone(port, installation.password))
    per_client = WARM_UP + RECORDS_A_CLIENT
    bodies = [crew.body([entry]) for entry in crew.applications(CLIENTS * per_client)]
    phones = [Phone(port, installation.password) for _ in range(CLIENTS)]
    start_line = threading.Barrier(CLIENTS + 1)
    times: list[float] = []
    faults: list[Exception] = []

    def work(phone: Phone, own: list[bytes]) -> None:
        try:
            for body in own[:WARM_UP]:
                timed_push(phone, crew.entries_path, body, 1)
            start_line.wait(60)
            times.extend(timed_push(phone, crew.entries_path, body, 1) for body in own[WARM_UP:])
        except Exception as fault:
            faults.append(fault)
            start_line.abort()

    threads = [
        threading.Thread(target=work, args=(phone, bodies[number::CLIENTS]))
        for number, phone in enumerate(phones)
    ]
    for thread in threads:
        thread.start()
    try:
        start_line.wait(60)
    except threading.BrokenBarrierError:
        raise CannotMeasure(f"A phone was not answered: {faults[:1]}") from None
    start = time.perf_counter()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - start
    for phone in (*phones, crew.phone):
        phone.close()
    if faults:
        raise CannotMeasure(f"A phone was not answered: {faults[0]}")
    return Accepting(p95=percentile(times, 0.95), rate=len(times) / seconds)


def push_many(installation: Installation, port: int) -> float:
    """Seconds for 500 applications in one push, the median of three."""
    crew = Crew(Phone(port, installation.password))
    times = [crew.send(crew.applications(PUSHED_AT_ONCE)) for _ in range(PUSHES)]
    crew.phone.close()
    return statistics.median(times)


def bare_inserts(directory: Path) -> float:
    """Rows a second that plain SQLite takes in with the same promise (in the log and on the disk before the
    answer), one a transaction, from one process, on the same disk."""
    body = json.dumps({"note": "x" * 600})
    connection = sqlite3.connect(directory / "bare.sqlite3", isolation_level=None)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("CREATE TABLE entry (id INTEGER PRIMARY KEY, body TEXT NOT NULL)")
    start = time.perf_counter()
    for _ in range(BARE_INSERTS):
        connection.execute("INSERT INTO entry (body) VALUES (?)", [body])
    rate = BARE_INSERTS / (time.perf_counter() - start)
    connection.close()
    return rate


def percentile(values: list[float], share: float) -> float:
    """The smallest value that at least this share of the values does not exceed."""
    ordered = sorted(values)
    return ordered[math.ceil(share * len(ordered)) - 1]
