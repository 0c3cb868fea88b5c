"""A phone on the trailer's Wi-Fi, which keeps the app only because it trusts the server's authority."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, BrowserType, Error, expect

from continuity.bootstrap import addresses
from continuity.bootstrap.console import CannotGoOn
from tests.lan_server import Served, serving

from .phone import Handset

Json = dict[str, Any]


@pytest.fixture
def address() -> str:
    """This machine's address on its network; without one, loopback, where HTTPS must be trusted as well."""
    try:
        return addresses.for_phones([])[0]
    except CannotGoOn:
        return "127.0.0.1"


@pytest.fixture
def served_to_phones(demo_data: Path, tmp_path: Path, address: str) -> Iterator[Served]:
    data_dir = tmp_path / "served"
    shutil.copytree(demo_data, data_dir)
    with serving(data_dir, address) as running:
        yield running


def trust(certificate: bytes, home: Path) -> None:
    """Puts an authority where Chromium on Linux looks for those that its user trusts."""
    if shutil.which("certutil") is None:
        pytest.skip("certutil (libnss3-tools), which makes the browser trust an authority, is not here")
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    database = ["certutil", "-d", f"sql:{store}"]
    subprocess.run([*database, "-N", "--empty-password"], check=True)
    add = [*database, "-A", "-n", "authority", "-t", "C,,"]
    subprocess.run(add, input=certificate, check=True)


def browser_at_home(
    home: Path, url: str, browser_type: BrowserType, launch_args: Json, context_args: Json
) -> BrowserContext:
    return browser_type.launch_persistent_context(
        home / "profile",
        **launch_args,
        **context_args,
        base_url=url,
        env={**os.environ, "HOME": str(home)},
    )


def test_a_phone_that_trusts_the_authority_opens_the_app_without_a_network(
    served_to_phones: Served,
    address: str,
    browser_type: BrowserType,
    browser_type_launch_args: Json,
    browser_context_args: Json,
    tmp_path: Path,
) -> None:
    home = tmp_path / "home"
    trust(served_to_phones.authority(), home)
    url = addresses.url("https", address, served_to_phones.port)

    def switch_on() -> BrowserContext:
        return browser_at_home(home, url, browser_type, browser_type_launch_args, browser_context_args)

    handset = Handset(switch_on)
    phone = handset.switch_on(network=True)
    phone.sign_in("artist")
    assert phone.page.url.startswith(url)
    cookies = {cookie["name"]: cookie["secure"] for cookie in phone.context.cookies()}
    assert cookies == {"sessionid": True, "csrftoken": True}
    handset.close()

    phone = handset.switch_on(network=False)
    expect(phone.heading("Today")).to_be_visible()
    handset.close()


def test_a_phone_that_does_not_is_warned_off(
    served_to_phones: Served,
    address: str,
    browser_type: BrowserType,
    browser_type_launch_args: Json,
    browser_context_args: Json,
    tmp_path: Path,
) -> None:
    home = tmp_path / "home"
    url = addresses.url("https", address, served_to_phones.port)
    context = browser_at_home(home, url, browser_type, browser_type_launch_args, browser_context_args)
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        context.pages[0].goto("/")
    context.close()
