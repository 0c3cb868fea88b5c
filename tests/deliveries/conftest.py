from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from continuity.deliveries.mail import MailServer
from tests.deliveries.receivers import HOST, HttpReceiver, MailReceiver, http_receiver, mail_receiver


@pytest.fixture(autouse=True)
def _operator(settings: Settings, tmp_path: Path) -> None:
    """An operator who lets webhooks go to this machine, whose app has an address, and no mail server yet."""
    settings.WEBHOOKS_TO_PRIVATE_NETWORKS = True
    settings.APP_ADDRESS = "https://trailer.example"
    settings.MAIL_SERVER = None
    settings.DATA_DIR = tmp_path


@pytest.fixture
def receiver() -> Iterator[HttpReceiver]:
    with http_receiver() as found:
        yield found


@pytest.fixture
def mails(settings: Settings) -> Iterator[MailReceiver]:
    with mail_receiver() as found:
        settings.MAIL_SERVER = MailServer(HOST, found.port, "orders@production.example", tls="none")
        yield found
