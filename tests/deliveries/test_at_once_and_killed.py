"""Two senders at once, and one killed in the middle: nothing lost, and what comes twice has one id."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection, connections

from continuity.bootstrap.places import ROOT
from continuity.deliveries.models import Outgoing
from continuity.deliveries.sender import LEASE, deliver_once
from tests.at_once import at_once
from tests.deliveries.receivers import HttpReceiver, MailReceiver
from tests.deliveries.sending import (
    assert_doubles_carry_the_same_id,
    pass_time,
    raise_order,
    send_until_done,
    sequences,
    step,
    told,
    waiting,
)
from tests.shop.season import Season, make_season


@pytest.fixture
def season(transactional_db: None) -> Iterator[Season]:
    yield make_season()
    connections.close_all()


def test_two_senders_at_once_send_each_message_once(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    orders = [raise_order(season, copies=copies) for copies in range(1, 9)]
    for order in orders:
        step(season, order, state="taken_on")
    tried = at_once(*[deliver_once] * 3)
    assert sum(tried) == len(receiver.received) == 16
    assert sequences(receiver.taken) == {order: [1, 2] for order in orders}
    assert_doubles_carry_the_same_id(receiver)


def test_orders_that_are_written_while_they_are_sent(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    receiver.once = [500, "drop", 503]

    def write() -> int:
        for copies in range(1, 6):
            step(season, raise_order(season, copies=copies), state="taken_on")
        return 0

    def send() -> int:
        return sum(deliver_once() for _ in range(8))

    at_once(write, send, send)
    send_until_done()
    found = sequences(receiver.taken)
    assert len(found) == 5
    assert all(sequence == [1, 2] for sequence in found.values())
    assert_doubles_carry_the_same_id(receiver)


def _sender(tmp_path: Path, **environment: str) -> subprocess.Popen[bytes]:
    """`manage.py deliver` as a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "django", "deliver"],
        cwd=ROOT,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "tests.deliveries.other_process",
            "TEST_DATABASE": str(connection.settings_dict["NAME"]),
            "CONTINUITY_DATA_DIR": str(tmp_path),
            "CONTINUITY_WEBHOOKS_TO_PRIVATE_NETWORKS": "1",
            **environment,
        },
    )


def _kill(process: subprocess.Popen[bytes]) -> None:
    os.kill(process.pid, signal.SIGKILL)
    process.wait(10)


def test_killed_while_the_receiver_has_the_message(
    season: Season, receiver: HttpReceiver, tmp_path: Path
) -> None:
    """The receiver has it and the sender does not know. It comes again, with the same id."""
    told(season, "webhook", receiver.url)
    receiver.once = ["hang"]
    order = raise_order(season)
    step(season, order, state="taken_on")
    process = _sender(tmp_path)
    try:
        assert receiver.came.wait(60)
    finally:
        _kill(process)
    # Until its lease has run out nobody else takes it, nor what comes after it.
    assert deliver_once() == 0
    pass_time(seconds=LEASE.total_seconds() + 1)
    deliver_once()
    assert sequences(receiver.taken) == {order: [1, 2]}
    assert sequences(receiver.received) == {order: [1, 1, 2]}
    assert_doubles_carry_the_same_id(receiver)


def test_killed_again_and_again_by_mail(season: Season, mails: MailReceiver, tmp_path: Path) -> None:
    told(season, "email", "shop@workshop.example")
    orders = [raise_order(season, copies=copies) for copies in (2, 3)]
    for order in orders:
        step(season, order, state="taken_on")
    mails.hang = 0.2
    mail = {
        "HOST": "127.0.0.1",
        "PORT": str(mails.port),
        "TLS": "none",
        "SENDER": "orders@production.example",
    }
    environment = {f"CONTINUITY_MAIL_{name}": value for name, value in mail.items()}
    for _ in range(3):
        process = _sender(tmp_path, **environment)
        already = len(mails.taken)
        end = time.monotonic() + 60
        try:
            while len(mails.taken) == already and waiting() and time.monotonic() < end:
                time.sleep(0.01)
        finally:
            _kill(process)
        pass_time(seconds=LEASE.total_seconds() + 1)
    mails.hang = 0
    send_until_done()
    ids = {f"<{each}@production.example>" for each in Outgoing.objects.values_list("id", flat=True)}
    assert {message["Message-ID"] for message in mails.taken} == ids
    assert len(ids) == 4
    for copies in (2, 3):
        came = [message for message in mails.taken if f" {copies} mid" in message["Subject"]]
        states = [message["Subject"].strip().split(":")[0] for message in came]
        # In order; a double stands beside the one it doubles.
        assert sorted(states) == states
        assert set(states) == {"Asked for", "Taken on"}
