"""Small servers of invented kinds of unit, for tests: each as its shipped profile says, and no more.

They share nothing with the program, and they count what they are asked.
"""

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any

from aiohttp import web


@dataclass(slots=True)
class Served:
    """A unit that is served.

    Attributes:
        port: where, on loopback.
        values: what it holds, by path.
        asked: method and path of every request, in order.
        gone: it was switched off, and its streams end.
    """

    values: dict[str, Any]
    port: int = 0
    asked: list[tuple[str, str]] = field(default_factory=list)
    gone: asyncio.Event = field(default_factory=asyncio.Event)

    @property
    def changing(self) -> list[tuple[str, str]]:
        """What it was asked besides reading."""
        return [one for one in self.asked if one[0] != "GET"]


def polled_unit() -> tuple[Served, web.Application]:
    """Return the kind of `json-polling`: a new report each time that it is asked."""
    unit = Served(
        {
            "/plate": {"plate": "P 1-7", "board": "C", "head": "T", "headCode": "9"},
            "/running": {"version": "1.2.0", "tag": "b7"},
            "/can": {"reach": 6000, "spread": 110.0, "bodies": 3, "patches": 4},
            "/wishes": {"reach": 5000, "linger": 30, "keenness": 60, "lamp": True},
            "/patches": {"areas": []},
            "/light": 41.5,
        }
    )
    application = _application(unit, {"/wishes": "POST", "/patches": "PUT", "/blink": "POST"})
    numbers = iter(range(1_000_000))

    async def bodies(_: web.Request) -> web.Response:
        number = next(numbers)
        body = {"slot": 0, "x": -120, "y": 2000 + number, "speed": 300}
        return web.json_response({"count": number, "targets": [body]})

    application.router.add_get("/bodies", bodies)
    return unit, application


def streaming_unit() -> tuple[Served, web.Application]:
    """Return the kind of `range-angle-stream`: server-sent events, centimetres and degrees."""
    unit = Served(
        {
            "/label": {"number": "S-8", "board": "A", "head": "T"},
            "/image": {"release": "4.0"},
            "/knobs": {"farthest": 500, "linger": 1.5, "keenness": "even"},
            "/bodies": {"count": 0, "bodies": []},
            "/air": 21.25,
        }
    )
    application = _application(unit, {"/knobs": "PUT", "/show": "POST"})

    async def stream(request: web.Request) -> web.StreamResponse:
        response = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await response.prepare(request)
        for number in range(3):
            body = {"far": 200, "side": 30, "pace": -50}
            report = json.dumps({"count": number, "bodies": [body] * number})
            await response.write(f"id: {number}\ndata: {report}\n\n".encode())
        await unit.gone.wait()
        return response

    application.router.add_get("/bodies/stream", stream)
    return unit, application


def framing_unit() -> tuple[Served, web.Application]:
    """Return the kind of `socket-frames`: a WebSocket of JSON frames, in metres."""
    unit = Served(
        {
            "/image": {"release": "0.9"},
            "/tuning": {"reach": 4.5, "linger": 20, "lamp": "lit"},
            "/frames/last": {"seq": 0, "bodies": []},
        }
    )
    application = _application(unit, {"/tuning": "PUT"})

    async def frames(request: web.Request) -> web.WebSocketResponse:
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        for number in range(3):
            body = {"right": -0.5, "away": 2.25, "pace": 0.3}
            await socket.send_json({"seq": number, "bodies": [body] * number})
        async for _ in socket:
            pass
        return socket

    application.router.add_get("/frames", frames)
    return unit, application


def scattered_unit() -> tuple[Served, web.Application]:
    """Return the kind of `scattered-polling`: every reading and setting at an address of its own."""
    readings = {"plate": "B-3", "board": "A", "head": "T", "release": "2.1", "light": 12}
    bodies = {"bodies": 1, "right1": -50, "away1": 210, "pace1": 15}
    second = {"right2": 0, "away2": 0, "pace2": 0}
    settings: dict[str, Any] = {"reach": 500, "linger": 30, "keenness": "mid", "lamp": "off"}
    first_area = {"patch1left": -100, "patch1right": 100, "patch1near": 50, "patch1far": 300}
    no_area = dict.fromkeys(("patch2left", "patch2right", "patch2near", "patch2far"), 0)
    written = {**settings, **first_area, **no_area}
    everything = {**readings, **bodies, **second, **written}
    unit = Served({f"/bit/{name}": value for name, value in everything.items()})
    changing = {f"/bit/{name}": "PUT" for name in written}
    return unit, _application(unit, {**changing, "/bit/blink": "POST"})


@asynccontextmanager
async def serving(kind: tuple[Served, web.Application]) -> AsyncIterator[Served]:
    """Serve a unit on loopback until the end of the block."""
    unit, application = kind
    runner = web.AppRunner(application, access_log=None, shutdown_timeout=0.1)
    await runner.setup()
    try:
        await web.TCPSite(runner, "127.0.0.1", 0).start()
        unit.port = runner.addresses[0][1]
        yield unit
    finally:
        await runner.cleanup()


def _application(unit: Served, changing: dict[str, str]) -> web.Application:
    @web.middleware
    async def counting(request: web.Request, handler: Any) -> web.StreamResponse:
        unit.asked.append((request.method, request.path))
        return await handler(request)

    async def read(request: web.Request) -> web.Response:
        return web.json_response(unit.values[request.path])

    async def change(request: web.Request) -> web.Response:
        if request.path in unit.values:
            unit.values[request.path] = await request.json()
        return web.Response(status=204)

    application = web.Application(middlewares=[counting])
    for path in unit.values:
        application.router.add_get(path, read)
    for path, method in changing.items():
        application.router.add_route(method, path, change)

    async def hang_up(_: web.Application) -> None:
        unit.gone.set()

    application.on_shutdown.append(hang_up)
    return application
