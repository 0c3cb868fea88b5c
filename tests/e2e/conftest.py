"""Real Chromium at the size of a phone, against the real server with the demo production of today."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import BrowserContext, BrowserType, expect

from continuity.bootstrap import chromium
from continuity.bootstrap.console import CannotGoOn
from continuity.bootstrap.places import FRONTEND

from .ahead import ServersAhead
from .phone import CHROMIUM_FLAGS, HANDSET, Handset, NewPhone, Phone, Theme
from .served import Served, manage

Json = dict[str, Any]

# Nobody waits for it: it only bounds how long a test that fails keeps looking.
PATIENCE = 30_000

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The browser tests run last: Playwright's event loop runs on after them, and Django's database refuses
    to be used beside one."""
    items.sort(key=lambda item: item.path.is_relative_to(HERE))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: Json) -> Json:
    try:
        browser = chromium.find()
    except CannotGoOn as why:
        pytest.fail(str(why), pytrace=False)
    if browser is None:
        pytest.fail("The browser tests need Chromium: run python3 manage.py verify.", pytrace=False)
    return {**browser_type_launch_args, "executable_path": str(browser), "args": CHROMIUM_FLAGS}


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: Json) -> Json:
    return {
        **browser_context_args,
        **HANDSET,
    }


@pytest.fixture(scope="session")
def base_url() -> None:
    """Not one for all: every test has a server of its own."""


@pytest.fixture(scope="session", autouse=True)
def _patient() -> None:
    expect.set_options(timeout=PATIENCE)


@pytest.fixture(scope="session")
def demo_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[datetime.date], Path]:
    if not (FRONTEND / "dist" / "index.html").is_file():
        pytest.fail(
            "The browser tests drive the built app, and it is not built: run npm run build in frontend/, or "
            "python3 manage.py verify --only browser.",
            pytrace=False,
        )

    @functools.cache
    def make(today: datetime.date) -> Path:
        data_dir = tmp_path_factory.mktemp(f"demo-{today}") / "data"
        data_dir.mkdir()
        manage(data_dir, "migrate", "--verbosity", "0")
        manage(data_dir, "load_demo")
        manage(data_dir, "prepare_photos", "--once")
        return data_dir

    return make


@pytest.fixture(scope="session")
def demo_today(demo_of: Callable[[datetime.date], Path]) -> Callable[[], Path]:
    """A data directory with the demo production as it stands this morning; copied, never served. It is made
    once, and again when the tests go on past midnight."""
    return lambda: demo_of(datetime.datetime.now(ZoneInfo(HANDSET["timezone_id"])).date())


@pytest.fixture
def demo_data(demo_today: Callable[[], Path]) -> Path:
    return demo_today()


@pytest.fixture(scope="session")
def servers(
    demo_today: Callable[[], Path], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[ServersAhead]:
    demo_today()
    servers = ServersAhead(demo_today, lambda: tmp_path_factory.mktemp("server"))
    yield servers
    servers.close()


@pytest.fixture(scope="session")
def shown(servers: ServersAhead) -> Iterator[Served]:
    with servers.server() as shown:
        yield shown


@pytest.fixture
def served(request: pytest.FixtureRequest, servers: ServersAhead) -> Iterator[Served]:
    """A server of the test's own; one for all tests that only look."""
    if request.node.get_closest_marker("only_looks"):
        shown: Served = request.getfixturevalue("shown")
        before = len(shown.entries())
        yield shown
        assert len(shown.entries()) == before, "a test that only looks has written"
    else:
        with servers.server() as served:
            yield served


@pytest.fixture
def new_phone(served: Served, new_context: Callable[..., BrowserContext]) -> NewPhone:
    def make(username: str, theme: Theme = "dark") -> Phone:
        context = new_context(base_url=served.url)
        context.set_default_timeout(PATIENCE)
        phone = Phone(context, context.new_page())
        phone.page.emulate_media(color_scheme=theme)
        phone.open()
        phone.sign_in(username)
        return phone

    return make


@pytest.fixture
def handset(
    served: Served,
    browser_type: BrowserType,
    browser_type_launch_args: Json,
    browser_context_args: Json,
    tmp_path: Path,
) -> Iterator[Handset]:
    """A phone whose browser can be closed and opened again."""

    def switch_on() -> BrowserContext:
        context = browser_type.launch_persistent_context(
            tmp_path / "profile", **browser_type_launch_args, **browser_context_args, base_url=served.url
        )
        context.set_default_timeout(PATIENCE)
        return context

    handset = Handset(switch_on)
    yield handset
    handset.close()
