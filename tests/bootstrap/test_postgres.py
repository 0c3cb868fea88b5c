from __future__ import annotations

import os
from pathlib import Path
from urllib.parse import unquote, urlsplit

import psycopg
import pytest

from continuity.bootstrap import postgres


def directory_of(address: str) -> Path:
    return Path(unquote(urlsplit(address).netloc.partition("@")[2]))


def use_and_fail(seen: list[str]) -> None:
    with postgres.throwaway_cluster() as address:
        seen.append(address)
        directory = directory_of(address)
        assert (directory / "data").stat().st_uid != 0 or os.geteuid() != 0
        with psycopg.connect(f"{address.rpartition('/')[0]}/postgres") as connection:
            addresses = connection.execute("show listen_addresses").fetchone()
            assert addresses == ("",)
            process = int((directory / "data" / "postmaster.pid").read_text().splitlines()[0])
            seen.append(str(process))
        raise KeyboardInterrupt


def test_the_cluster_is_reached_only_from_here_and_is_gone_afterwards() -> None:
    seen: list[str] = []
    with pytest.raises(KeyboardInterrupt):
        use_and_fail(seen)
    address, process = seen
    assert not directory_of(address).exists()
    with pytest.raises(ProcessLookupError):
        os.kill(int(process), 0)
