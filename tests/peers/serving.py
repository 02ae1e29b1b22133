"""Starts a peer in a process of its own, and watches a second address that nobody may come to."""

import asyncio
import json
import os
import subprocess
from collections.abc import AsyncIterator, Iterator, Mapping
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any

import aiohttp

from fleet.link.links import Links
from fleet.model.clock import HouseClock
from fleet.model.credentials import Credential
from tests.unit.description.samples import td_schema

CLOCK = HouseClock(datetime(2026, 11, 25, 8, tzinfo=UTC), monotonic(), monotonic)


@dataclass(frozen=True, slots=True)
class Peer:
    """A server that runs: the address of the description that it serves."""

    url: str

    async def asked(self, method: str = "") -> list[dict[str, Any]]:
        """Return what it was asked so far, of one method or all."""
        origin = self.url.rsplit("/", 1)[0]
        async with aiohttp.ClientSession() as session, session.get(f"{origin}/asked") as answer:
            asked = json.loads(await answer.read())
        return [one for one in asked if method in {"", one["method"]}]


@contextmanager
def served(command: list[str], place: Path, **more: str) -> Iterator[Peer]:
    """Run a server until the end of the block; it says in one line of JSON where it is."""
    running = subprocess.Popen(
        command, cwd=place, env=os.environ | more, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    try:
        line = running.stdout.readline()
        assert line, f"it didn't start: {running.stderr.read().decode()[-2000:]}"
        yield Peer(json.loads(line)["url"])
    finally:
        running.kill()
        running.communicate()


@dataclass(slots=True)
class Watcher:
    """An address that nobody may come to; it counts who does."""

    url: str
    came: int = 0


@asynccontextmanager
async def watched_address(host: str = "127.0.0.1", port: int = 0) -> AsyncIterator[Watcher]:
    """Listen at an address of loopback, on a free port or a certain one, and count connections."""
    watcher = Watcher("")

    async def count(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        watcher.came += 1
        writer.close()

    server = await asyncio.start_server(count, host, port)
    async with server:
        watcher.url = "http://{}:{}".format(*server.sockets[0].getsockname())
        yield watcher


class Known:
    """What lets us in, by key, for a test."""

    def __init__(self, known: Mapping[str, Credential]) -> None:
        self.known = known

    def credential_for(self, key: str) -> Credential | None:
        """Return what is known under a key."""
        return self.known.get(key)


@asynccontextmanager
async def linked(credentials: Known | None = None) -> AsyncIterator[Links]:
    """Open links as a visit does, and close them."""
    links = Links(td_schema(), clock=CLOCK, credentials=credentials)
    try:
        yield links
    finally:
        await links.close()
