"""A sound unit, a hostile one and an address that nobody may come to, met on loopback as a visit does."""

import asyncio
import json
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import AsyncExitStack, asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from aiohttp import web

from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.live import LiveRecord
from fleet.engine.meeting import acquaintance_with
from fleet.engine.secrets import Secrets
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.model.clock import HouseClock
from fleet.model.units import Sighting
from tests.inventories import small_plan
from tests.unit.description.samples import document

SOUND, HOSTILE = "SOUND-1", "HOSTILE-1"
REPORT_EVERY_S = 0.02
MOST_WAIT_S = 25.0
"""A bound for a condition that is waited for: a unit is given up within 20 s."""

CLOCK = HouseClock(datetime(2026, 11, 25, 8, tzinfo=UTC), time.monotonic(), time.monotonic)
Answer = Callable[[web.Request], Awaitable[web.StreamResponse]]

ABOUT = {
    "@type": "pres:Identity",
    "type": "object",
    "readOnly": True,
    "properties": {"serial": {"@type": "pres:SerialNumber", "type": "string"}},
    "forms": [{"href": "about"}],
}
FRAME = {
    "@type": "pres:TargetFrame",
    "type": "object",
    "readOnly": True,
    "observable": True,
    "properties": {
        "time": {"@type": "pres:SampleTime", "type": "string"},
        "number": {"@type": "pres:ReportNumber", "type": "integer"},
        "targets": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "x": {"@type": "pres:SensorX", "type": "integer"},
                    "y": {"@type": "pres:SensorY", "type": "integer"},
                    "speed": {"@type": "pres:RadialSpeed", "type": "integer"},
                },
            },
        },
    },
    "forms": [{"href": "frame", "op": "observeproperty", "subprotocol": "sse"}],
}


def described(**parts: Any) -> dict[str, Any]:
    """Return the description of a small unit, with these parts in it or in place of its own."""
    properties = {"about": ABOUT, "frame": FRAME} | parts.pop("properties", {})
    return document(properties=properties, **parts)


@dataclass(slots=True)
class Server:
    """One unit's server: what it answers by path, and what it was asked."""

    answers: Mapping[str, Answer]
    asked: list[str] = field(default_factory=list)
    url: str = ""

    async def answer(self, request: web.Request) -> web.StreamResponse:
        """Answer by path; what isn't there is 404."""
        self.asked.append(f"{request.method} {request.path_qs}")
        given = self.answers.get(request.path)
        return await given(request) if given else web.Response(status=404)


def says(body: bytes | str, status: int = 200, **headers: str) -> Answer:
    """Answer with these bytes, as JSON unless the headers say otherwise."""
    raw = body.encode() if isinstance(body, str) else body

    async def answer(_request: web.Request) -> web.Response:
        return web.Response(
            body=raw, status=status, headers={"Content-Type": "application/json"} | headers
        )

    return answer


def streams(pieces: AsyncIterator[bytes] | Callable[[], AsyncIterator[bytes]]) -> Answer:
    """Answer with an event stream made of these pieces, until the client goes."""

    async def answer(request: web.Request) -> web.StreamResponse:
        stream = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await stream.prepare(request)
        with suppress(ConnectionError):
            async for piece in pieces() if callable(pieces) else pieces:
                await stream.write(piece)
        return stream

    return answer


def event(report: Any) -> bytes:
    """Return a report as an event."""
    said = report if isinstance(report, str) else json.dumps(report)
    return f"data: {said}\n\n".encode()


async def nothing_more() -> AsyncIterator[bytes]:
    """Keep a stream open; only what is written shows that the client has gone."""
    while True:
        yield b": alive\n\n"
        await asyncio.sleep(REPORT_EVERY_S)


async def sound_reports() -> AsyncIterator[bytes]:
    """Report for ever at a usual rate."""
    for number in range(1_000_000):
        yield event({"number": number, "targets": [{"x": 100, "y": 2000}]})
        await asyncio.sleep(REPORT_EVERY_S)


def sound_unit(serial: str = SOUND, **answers: Answer) -> dict[str, Answer]:
    """Return what a sound unit answers, with other answers in place of some of its own."""
    own = {
        "td": says(json.dumps(described(title=f"Unit {serial}"))),
        "about": says(json.dumps({"serial": serial})),
        "frame": streams(sound_reports),
    }
    return {f"/{path}": answer for path, answer in (own | answers).items()}


@asynccontextmanager
async def serving(server: Server) -> AsyncIterator[Server]:
    """Serve on a free port of loopback."""
    app = web.Application(client_max_size=1 << 16)
    app.router.add_route("*", "/{path:.*}", server.answer)
    runner = web.AppRunner(app, shutdown_timeout=0.1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    server.url = f"http://127.0.0.1:{runner.addresses[0][1]}/td"
    try:
        yield server
    finally:
        await runner.cleanup()


@dataclass(slots=True)
class House:
    """What a test looks at.

    Attributes:
        fleet: meets and watches.
        inventory: holds what was read.
        hostile: the hostile unit's server.
        foreign: who came to the address that nobody may come to.
        foreign_url: that address.
    """

    fleet: FleetWatch
    inventory: Inventory
    hostile: Server
    foreign: list[str]
    foreign_url: str

    @property
    def sound(self) -> LiveRecord:
        """What the sound unit says."""
        return self.fleet.records[SOUND]

    @property
    def trouble(self) -> str:
        """What is said of the hostile unit, "" for nothing."""
        return self.fleet.troubles.get(self.hostile.url, "")

    def hear(self, server: Server, name: str) -> None:
        """Hear a unit's advert."""
        self.fleet.hear(Sighting(name, server.url, CLOCK.now()))

    async def wait_for(self, condition: Callable[[], object]) -> None:
        """Wait until something holds.

        Raises:
            TimeoutError: it doesn't within what a hostile unit may take.
        """
        async with asyncio.timeout(MOST_WAIT_S):
            while not condition():  # noqa: ASYNC110 - what a fleet has met has no event to wait for
                await asyncio.sleep(0.005)

    async def meet_hostile(self) -> None:
        """Hear the hostile unit, and wait until it is met or said why not."""
        self.hear(self.hostile, "Hostile unit")
        await self.wait_for(lambda: self.trouble or HOSTILE in self.fleet.records)
        await self.fleet.settle_down()

    async def sound_goes_on(self, reports: int = 10) -> None:
        """Wait until the sound unit's next reports have come."""
        wanted = self.sound.reports + reports
        await self.wait_for(lambda: self.sound.reports >= wanted)


@asynccontextmanager
async def house(
    folder: Path, hostile: Mapping[str, Answer] | Callable[[str], Mapping[str, Answer]]
) -> AsyncIterator[House]:
    """Open a house in which a sound unit is watched already and a hostile one waits to be met.

    Args:
        folder: where the inventory goes.
        hostile: the hostile unit's answers by path; or makes them, given the address nobody may come to.
    """
    foreign, bad = Server({}), Server({})
    async with AsyncExitStack() as stack:
        inventory = stack.enter_context(open_inventory(folder / "data", CLOCK))
        inventory.add_site(small_plan())
        for server in (foreign, bad, sound := Server(sound_unit())):
            await stack.enter_async_context(serving(server))
        acquaintance = acquaintance_with(inventory, Secrets(), CLOCK, ())
        stack.push_async_callback(acquaintance.close)
        fleet = FleetWatch(inventory, acquaintance, CLOCK)
        stack.push_async_callback(fleet.close)
        origin = foreign.url.removesuffix("/td")
        bad.answers = hostile(origin) if callable(hostile) else hostile
        opened = House(fleet, inventory, bad, foreign.asked, origin)
        opened.hear(sound, "Sound unit")
        await opened.wait_for(lambda: SOUND in fleet.records and opened.sound.reports)
        yield opened
