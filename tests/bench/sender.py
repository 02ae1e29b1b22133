"""A unit for benches, in a process of its own: a description, a property, and many event streams.

`… PERIOD_S EVENTS`: each stream sends one invented report every PERIOD_S, EVENTS of them, and ends. As with
units in a house no two streams are in step: each has its own place within the period, whoever listens, so
that both of a pair of benches get the same arrivals.
It serves the example description of `tests/data/descriptions/` and prints its address.
"""

import asyncio
import itertools
import json
import math
import sys

from aiohttp import web

from fleet.link.connections import keep_room_for_arrivals
from tests.architecture.source_rules import ROOT

STREAMS = 20
DESCRIPTION = ROOT / "tests" / "data" / "descriptions" / "tracking.td.json"


def report(number):
    targets = [
        {"id": slot, "x": 400 * slot - 600, "y": 2500 + 10 * (number % 50), "speed": -120}
        for slot in range(3)
    ]
    return json.dumps({"time": "2026-11-25T12:00:00.000Z", "number": number, "targets": targets})


async def serve(period_s, events):
    opened = itertools.count()
    reports = [f"id: {n}\ndata: {report(n)}\n\n".encode() for n in range(events)]

    async def describe(request):
        document = json.loads(DESCRIPTION.read_text(encoding="utf-8"))
        document["base"] = f"http://{request.host}/"
        document["securityDefinitions"], document["security"] = (
            {"open": {"scheme": "nosec"}},
            "open",
        )
        return web.json_response(document, content_type="application/td+json")

    async def stream(request):
        response = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await response.prepare(request)
        loop = asyncio.get_running_loop()
        place = next(opened) % STREAMS / STREAMS
        began_s = (math.ceil(loop.time() / period_s) + place) * period_s
        for number, event in enumerate(reports):
            await asyncio.sleep(max(0.0, began_s + number * period_s - loop.time()))
            await response.write(event)
        return response

    async def value(request):
        return web.json_response({"maxDistance": 6000, "holdTime": 30, "sensitivity": 70})

    app = web.Application()
    app.router.add_get("/td", describe)
    app.router.add_get("/properties/targets", stream)
    app.router.add_get("/properties/settings", value)
    runner = web.AppRunner(app, access_log=None)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    print(f"http://127.0.0.1:{runner.addresses[0][1]}", flush=True)
    await asyncio.Event().wait()


if __name__ == "__main__":
    keep_room_for_arrivals()
    asyncio.run(serve(float(sys.argv[1]), int(sys.argv[2])))
