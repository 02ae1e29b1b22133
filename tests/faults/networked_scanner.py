"""A scanner on the network that it is started in, until the input ends; a line for each thing that it says.

Arguments: the interface, and the service types if they are others. A sighting is asked at its URL as for a
unit's description.
"""

import asyncio
import json
import sys
import time
from datetime import UTC, datetime

import aiohttp

from fleet.discovery.scanner import Scanner
from fleet.model.clock import HouseClock


def _say(kind, **parts):
    sys.stdout.write(json.dumps({"kind": kind, **parts}) + "\n")
    sys.stdout.flush()


async def _fetch(session, sighting):
    try:
        async with session.get(sighting.url) as response:
            status = response.status
    except (aiohttp.ClientError, OSError, TimeoutError) as reason:
        status = repr(reason)
    _say("sighting", name=sighting.name, url=sighting.url, host=sighting.host, status=status)


async def _scan(interface, types):
    clock = HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic)
    fetching = set()
    async with aiohttp.ClientSession(timeout=aiohttp.ClientTimeout(total=3)) as session:
        scanner = Scanner(
            clock,
            lambda sighting: fetching.add(asyncio.ensure_future(_fetch(session, sighting))),
            interface=interface,
            service_types=types or ("_wot._tcp",),
            on_goodbye=lambda name: _say("goodbye", name=name),
            look_every_s=0.3,
        )
        async with scanner:
            _say("listening", on=sorted({each.name for each in scanner.present}))
            await asyncio.to_thread(sys.stdin.read)
            _say("end", disputed=sorted(scanner.disputed))
        await asyncio.gather(*fetching)


if __name__ == "__main__":
    asyncio.run(_scan(sys.argv[1], sys.argv[2:]))
