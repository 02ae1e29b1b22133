"""Three invented units over HTTP for the crash walk, and a gate that every request passes through.

Two take their settings and their area set whole, over what was read alone (ETag, If-Match); one takes each
value and each edge by itself. At the gate a request may be cut off as it arrives, or once it was carried
out and not answered: the program that sent it is killed at that moment.
"""

import asyncio
import contextlib
import json
import os
import signal
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field

from aiohttp import web

from tests.peers.scattered_server import PLATE, VALUES, Unit
from tests.unit.description.samples import document

FIRST, SECOND = "W-1", "W-2"
READ = "a read arrives"
SETTINGS = {"hold": 30, "reach": 4000, "lamp": True}
BED = {
    "id": "1",
    "label": "Bed",
    "kind": "watch",
    "shape": "rectangle",
    "min": {"x": -1000, "y": 500},
    "max": {"x": 1000, "y": 3000},
}
DESK = BED | {"id": "2", "label": "Desk", "min": {"x": -2000, "y": 1000}}
DESK = DESK | {"max": {"x": -1200, "y": 2000}}


def typed(name: str, kind: str, **more: object) -> dict[str, object]:
    return {"@type": f"pres:{name}", "type": kind, **more}


def whole_description(serial: str) -> dict[str, object]:
    """Return the description of a unit that takes its values whole."""
    corner = {
        "type": "object",
        "properties": {
            axis: typed(f"Sensor{axis.upper()}", "integer", unit="qunit:MilliM") for axis in "xy"
        },
    }
    area = {
        "id": typed("AreaId", "string"),
        "label": typed("AreaLabel", "string"),
        "kind": typed("AreaKind", "string", enum=["watch", "ignore", "doorway"]),
        "shape": {"type": "string", "const": "rectangle"},
        "min": corner,
        "max": corner,
    }
    areas = {"type": "array", "maxItems": 4, "items": {"type": "object", "properties": area}}
    settings = {
        "hold": typed("HoldTime", "integer", unit="qunit:SEC", maximum=3600),
        "reach": typed("MaxDistance", "integer", unit="qunit:MilliM", maximum=6000),
        "lamp": typed("IndicatorLight", "boolean"),
    }
    identity = {
        "serial": typed("SerialNumber", "string"),
        "module": typed("ModuleType", "string"),
    }
    return document(
        id=f"urn:walkdown-example:{serial}",
        title=f"Unit {serial}",
        properties={
            "about": _property("Identity", identity, readOnly=True),
            "settings": _property("Settings", settings),
            "areas": _property("AreaSet", {"areas": areas}),
        },
    )


def _property(name: str, members: dict[str, object], **more: object) -> dict[str, object]:
    op = ["readproperty"] if more else ["readproperty", "writeproperty"]
    href = {"Identity": "about", "Settings": "settings", "AreaSet": "areas"}[name]
    return {
        **typed(name, "object", properties=members),
        **more,
        "forms": [{"op": op, "href": href, "pres:concurrency": "if-match"}],
    }


@dataclass(slots=True)
class Gate:
    """Counts requests while it is armed, and kills whoever sends the one that is meant.

    Attributes:
        pid: the program to kill; 0 until it is known.
        known: set once it is.
        point: which moment, from 1; 0 for none.
        passed: the moments that were passed, in words.
    """

    pid: int = 0
    point: int = 0
    armed: bool = False
    passed: list[str] = field(default_factory=list)
    known: asyncio.Event = field(default_factory=asyncio.Event)

    def reset(self, point: int) -> None:
        self.pid, self.point, self.armed, self.passed = 0, point, False, []
        self.known = asyncio.Event()

    def aim_at(self, pid: int) -> None:
        self.pid = pid
        self.known.set()

    def kills(self, moment: str) -> bool:
        """Pass a moment; kill if it is the one that is meant. Reads in a row count once, at the first."""
        if not self.armed or (moment == READ and self.passed[-1:] == [READ]):
            return False
        self.passed.append(moment)
        if len(self.passed) != self.point:
            return False
        assert self.pid > 1
        os.kill(self.pid, signal.SIGKILL)
        return True


@dataclass(slots=True)
class Wholes:
    """What a unit that takes its values whole holds, and every PUT that it carried out.

    Attributes:
        serial: its own.
        held: by path.
        puts: path, value before, value after.
        at_put: called with path and value as a PUT comes; what it returns is the answer.
        dead: every request is broken off.
    """

    serial: str
    held: dict[str, object] = field(default_factory=dict)
    puts: list[tuple[str, object, object]] = field(default_factory=list)
    at_put: Callable[[str, object], Awaitable[web.Response | None]] | None = None
    dead: bool = False

    def tag(self, name: str) -> str:
        return f'"{abs(hash(json.dumps(self.held[name], sort_keys=True)))}"'

    def take(self, name: str, value: object) -> None:
        self.puts.append((name, self.held[name], value))
        self.held[name] = value

    async def answer(self, request: web.Request) -> web.Response:
        name = request.match_info["name"]
        if self.dead:
            return await cut_off(request)
        if name == "td":
            return web.json_response(whole_description(self.serial))
        if name not in self.held:
            return web.json_response({"title": "no such thing"}, status=404)
        if request.method == "PUT":
            value = json.loads(await request.read())
            answer = await self.at_put(name, value) if self.at_put else None
            if answer is not None:
                return answer
            if request.headers.get("If-Match") != self.tag(name):
                return web.json_response({"title": "it has another tag"}, status=412)
            self.take(name, value)
            return web.Response(status=204)
        return web.json_response(self.held[name], headers={"ETag": self.tag(name)})


@dataclass(slots=True)
class House:
    """The three units behind one gate."""

    gate: Gate = field(default_factory=Gate)
    first: Wholes = field(default_factory=lambda: Wholes(FIRST))
    second: Wholes = field(default_factory=lambda: Wholes(SECOND))
    scattered: Unit = field(default_factory=Unit)
    pieces: list[tuple[str, object, object]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.reset(self.at_first())

    @staticmethod
    def at_first() -> dict[str, dict[str, object]]:
        whole = {"settings": SETTINGS, "areas": {"areas": [BED]}}
        return {FIRST: whole, SECOND: whole, PLATE: dict(VALUES)}

    def state(self) -> dict[str, dict[str, object]]:
        """Return what every unit holds; `reset` brings it back."""
        wholes = {unit.serial: dict(unit.held) for unit in (self.first, self.second)}
        return {**wholes, PLATE: dict(self.scattered.values)}

    def reset(self, state: dict[str, dict[str, object]]) -> None:
        for unit in (self.first, self.second):
            about = {"serial": unit.serial, "module": "tracking"}
            unit.held = {"about": about, **json.loads(json.dumps(state[unit.serial]))}
            unit.puts.clear()
        self.scattered.values = dict(state[PLATE])
        self.pieces.clear()

    def needless(self) -> list[tuple[str, object, object]]:
        """Return every PUT that changed nothing."""
        done = [*self.first.puts, *self.second.puts, *self.pieces]
        return [put for put in done if put[1] == put[2]]

    async def answer_piece(self, request: web.Request) -> web.Response:
        name = request.match_info["name"]
        if name not in self.scattered.values:
            return web.json_response({"title": "no such bit"}, status=404)
        if request.method != "PUT":
            return web.json_response(self.scattered.values[name])
        value = json.loads(await request.read())
        if not self.scattered.is_sound(name, value):
            return web.json_response({"title": "edges the wrong way round"}, status=409)
        self.pieces.append((name, self.scattered.values[name], value))
        self.scattered.take(name, value)
        return web.Response(status=204)


def gated(gate: Gate):
    """Return what lets requests through the gate; the description isn't counted."""

    @web.middleware
    async def through(request: web.Request, handler) -> web.StreamResponse:
        if request.path.endswith("/arm"):
            await gate.known.wait()
            gate.armed = True
            return web.Response(status=204)
        if request.path == "/td":
            return await handler(request)
        if gate.kills("a write arrives" if request.method == "PUT" else READ):
            return await cut_off(request)
        response = await handler(request)
        if request.method == "PUT" and gate.kills("a write is carried out and not answered"):
            return await cut_off(request)
        return response

    return through


async def cut_off(request: web.Request) -> web.Response:
    if request.transport is not None:
        request.transport.abort()
    await asyncio.sleep(0)
    return web.Response(status=500)


@contextlib.asynccontextmanager
async def served(house: House) -> AsyncIterator[dict[str, str]]:
    """Serve the three units on loopback; yields serial → address."""
    answers = {FIRST: house.first.answer, SECOND: house.second.answer, PLATE: house.answer_piece}
    async with contextlib.AsyncExitStack() as stack:
        urls = {}
        for serial, answer in answers.items():
            app = web.Application(middlewares=[gated(house.gate)])
            app.router.add_route("*", "/{name}", answer)
            app.router.add_route("*", "/bit/{name}", answer)
            runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.1)
            await runner.setup()
            stack.push_async_callback(runner.cleanup)
            await web.TCPSite(runner, "127.0.0.1", 0).start()
            path = "" if serial == PLATE else "td"
            urls[serial] = f"http://127.0.0.1:{runner.addresses[0][1]}/{path}"
        yield urls
