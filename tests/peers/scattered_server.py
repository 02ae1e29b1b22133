"""An invented unit of the scattered kind over HTTP: each reading and setting has an address of its own.

It speaks what `resources/profiles/scattered-polling.json` describes: GET and PUT of JSON at /bit/NAME.
What it says changes by a schedule that the test gives; what is wrong with it, too. It refuses each write
that would leave a patch with its edges the wrong way round, or of no width unless that axis is all 0.
"""

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from enum import Enum

from aiohttp import web

PLATE = "wd-bits-0001"
EDGES = ("left", "right", "near", "far")
VALUES = {
    "plate": PLATE,
    "board": "r2",
    "head": "tracking",
    "release": "1.4.0",
    "bodies": 0,
    "right1": 0,
    "away1": 0,
    "pace1": 0,
    "right2": 0,
    "away2": 0,
    "pace2": 0,
    "light": 120,
    "reach": 450,
    "linger": 30,
    "keenness": "mid",
    "lamp": "on",
    **{f"patch1{edge}": value for edge, value in zip(EDGES, (-100, 100, 50, 300), strict=True)},
    **{f"patch2{edge}": 0 for edge in EDGES},
}


class Fault(Enum):
    """What becomes of a write."""

    LOST = "answered as done, and not done"
    REFUSED = "refused with a reason"
    RESET = "the connection is broken off, nothing is done"
    RESET_AFTER = "the connection is broken off after it was done"
    DEAD = "the connection is broken off, and so are all later ones"
    LATE = "done, but the old value is said twice more"


@dataclass(slots=True)
class Unit:
    """What the unit holds, what it is to do wrong, and what happened to it.

    Attributes:
        values: by name.
        faults: what becomes of a write to a name.
        after: what happens after each answer to a GET of a name, in turn.
        pauses_s: how long each answer takes, in turn, s; then nothing.
        writes: every PUT that came, as name and value.
        patches: all four edges after every change of a patch.
        dead: nothing is answered.
    """

    values: dict[str, object] = field(default_factory=lambda: dict(VALUES))
    faults: dict[str, Fault] = field(default_factory=dict)
    after: dict[str, Iterator[Callable[[], None]]] = field(default_factory=dict)
    pauses_s: Iterator[float] = field(default_factory=lambda: iter(()))
    writes: list[tuple[str, object]] = field(default_factory=list)
    patches: list[tuple[int, ...]] = field(default_factory=list)
    dead: bool = False
    old: dict[str, list[object]] = field(default_factory=dict)

    def schedule(self, name: str, *values: object) -> None:
        """Say these values of a name, one after another, each once; the last for good."""
        first, *later = values
        self.values[name] = first

        def set_to(value: object) -> Callable[[], None]:
            return lambda: self.values.update({name: value})

        self.after[name] = iter([set_to(value) for value in later])

    def is_sound(self, name: str, value: object) -> bool:
        """Say whether a write leaves every patch as it may be."""
        if not name.startswith("patch"):
            return True
        held = {**self.values, name: value}
        left, right, near, far = (held[name[:6] + edge] for edge in EDGES)
        return all(low < high or low == high == 0 for low, high in ((left, right), (near, far)))

    def take(self, name: str, value: object) -> None:
        self.values[name] = value
        if name.startswith("patch"):
            self.patches.append(tuple(self.values[name[:6] + edge] for edge in EDGES))


@asynccontextmanager
async def served(unit: Unit) -> AsyncIterator[str]:
    """Serve a unit on loopback until the end of the block; yields its origin."""

    async def read(request: web.Request) -> web.Response:
        name = request.match_info["name"]
        await asyncio.sleep(next(unit.pauses_s, 0.0))
        if unit.dead:
            return _broken_off(request)
        if name not in unit.values:
            return web.json_response({"title": "no such bit"}, status=404)
        said = unit.old[name].pop() if unit.old.get(name) else unit.values[name]
        next(unit.after.get(name, iter(())), lambda: None)()
        return web.json_response(said)

    async def write(request: web.Request) -> web.Response:
        name, value = request.match_info["name"], json.loads(await request.read())
        if unit.dead:
            return _broken_off(request)
        unit.writes.append((name, value))
        if not unit.is_sound(name, value):
            return web.json_response({"title": "edges the wrong way round"}, status=409)
        return _outcome(unit, request, name, value)

    app = web.Application()
    app.router.add_get("/bit/{name}", read)
    app.router.add_put("/bit/{name}", write)
    runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.5)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    try:
        yield f"http://127.0.0.1:{site._server.sockets[0].getsockname()[1]}"
    finally:
        await runner.cleanup()


def _outcome(unit: Unit, request: web.Request, name: str, value: object) -> web.Response:
    fault = unit.faults.get(name)
    if fault is Fault.REFUSED:
        return web.json_response({"title": "not now"}, status=409)
    if fault in {Fault.RESET, Fault.DEAD}:
        unit.dead = fault is Fault.DEAD
        return _broken_off(request)
    if fault is Fault.LATE:
        unit.old[name] = [unit.values[name]] * 2
    if fault is not Fault.LOST:
        unit.take(name, value)
    return _broken_off(request) if fault is Fault.RESET_AFTER else web.Response(status=204)


def _broken_off(request: web.Request) -> web.Response:
    if request.transport is not None:
        request.transport.abort()
    return web.Response(status=500)


def irregular(pauses_s: Iterable[float]) -> Iterator[float]:
    """Return these pauses again and again."""
    held = [*pauses_s]
    while True:
        yield from held
