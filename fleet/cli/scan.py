"""`walkdown scan`: who advertises on the network."""

import argparse
import asyncio
from typing import Any

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_error, say_json, table
from fleet.discovery.scanner import Scanner
from fleet.engine.files import schema
from fleet.engine.reading import read_unit
from fleet.link.unit_link import Links
from fleet.model.clock import to_rfc3339
from fleet.model.errors import WalkdownError
from fleet.model.units import Sighting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--seconds", type=float, default=3.0, help="how long to listen (3)")
    parser.add_argument("--interface", default="", metavar="ADDR", help="address to listen on")
    parser.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Listen, read whoever was heard, and print a line each."""
    units, troubles = asyncio.run(_scan(arguments.seconds, arguments.interface))
    if arguments.json:
        say_json(units)
    elif units:
        head = ("serial", "module", "build", "name", "url")
        say(
            table(
                [
                    head,
                    *(
                        (u["serial"], u["module_type"], u["version"], u["name"], u["url"])
                        for u in units
                    ),
                ]
            )
        )
    else:
        say(
            "No unit was heard. Check that this machine is on the units' network, or add one by address."
        )
    for trouble in troubles:
        say_error(trouble)
    return REPORTED if troubles or not units else DONE


async def _scan(seconds: float, interface: str) -> tuple[list[dict[str, Any]], list[str]]:
    clock = real_clock()
    links = Links(schema("td-1.1"))
    heard: dict[str, Sighting] = {}
    troubles: list[str] = []

    async def describe(sighting: Sighting) -> dict[str, Any] | None:
        try:
            link = await links.describe(sighting.url, sighting.host)
            reading = await read_unit(link, sighting.url, clock)
        except WalkdownError as reason:
            troubles.append(f"{sighting.name}: {reason}")
            return None
        return {
            "serial": reading.serial,
            "url": sighting.url,
            "name": sighting.name,
            "heard_at": to_rfc3339(sighting.heard_at),
            "module_type": str(reading.sheet.get("module.type", "")),
            "version": str(reading.sheet.get("build.version", "")),
        }

    try:
        async with Scanner(
            clock, lambda sighting: heard.__setitem__(sighting.url, sighting), interface=interface
        ):
            await asyncio.sleep(seconds)
        found = await asyncio.gather(*(describe(sighting) for sighting in heard.values()))
    finally:
        await links.close()
    units = [unit for unit in found if unit is not None]
    return sorted(units, key=lambda unit: (unit["serial"], unit["url"])), troubles
