"""`walkdown scan`: who is on the network; and if nobody is heard, why."""

import argparse
import asyncio
import dataclasses
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_error, say_json, table
from fleet.cli.secret import vault_passphrase
from fleet.cli.starting import acquaintance_of
from fleet.discovery.addresses import read_addresses
from fleet.discovery.interfaces import interfaces
from fleet.discovery.scanner import Scanner
from fleet.discovery.trying import diagnose
from fleet.engine.broker_watch import BrokerWatch
from fleet.engine.meeting import Acquaintance
from fleet.engine.reception import broker_origin, listened_for
from fleet.link.connections import description_url
from fleet.model.clock import to_rfc3339
from fleet.model.errors import WalkdownError
from fleet.model.meeting import Diagnosis, Obstacle
from fleet.model.units import Reading, Sighting

HEAD = ("serial", "module", "build", "access", "name", "url")
BROKERS = ("mqtt", "mqtts")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--seconds", type=float, default=3.0, help="how long to listen (3)")
    parser.add_argument(
        "--interface", default="", metavar="ADDR", help="address or name to listen on (all)"
    )
    parser.add_argument("--interfaces", action="store_true", help="list this machine's interfaces")
    parser.add_argument(
        "--addresses",
        type=Path,
        metavar="FILE",
        help="meet whoever is at these addresses and brokers besides; - for standard input",
    )
    parser.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Listen, read whoever was heard, and print a line each."""
    if arguments.interfaces:
        return _list_interfaces(as_json=arguments.json)
    found = asyncio.run(_scan(arguments))
    if arguments.json:
        say_json([_document(sighting, reading) for sighting, reading in found.read])
    elif found.read:
        say(table([HEAD, *(_row(sighting, reading) for sighting, reading in found.read)]))
    for trouble in found.troubles:
        say_error(trouble)
    if found.why is not None:
        _say_why(found.why)
    return REPORTED if found.troubles or not found.read else DONE


@dataclass(slots=True)
class _Found:
    """What a scan came to."""

    read: list[tuple[Sighting, Reading]] = field(default_factory=list)
    troubles: list[str] = field(default_factory=list)
    why: Diagnosis | None = None


async def _scan(arguments: argparse.Namespace) -> _Found:
    clock, found = real_clock(), _Found()
    urls = list(_addresses(arguments.addresses, found.troubles))
    heard: dict[str, Sighting] = {}

    def hear(sighting: Sighting) -> None:
        heard[sighting.url] = sighting

    ask = vault_passphrase(arguments.data)
    async with acquaintance_of(arguments.data, ask) as acquaintance:
        types = listened_for(acquaintance.profiles)
        brokers = BrokerWatch(acquaintance, hear)
        try:
            for url in urls:
                if url.startswith(BROKERS):
                    brokers.add(broker_origin(url))
                else:
                    hear(Sighting(url, description_url(url), clock.now()))
            async with Scanner(
                clock, hear, interface=arguments.interface, service_types=types
            ) as scanner:
                await asyncio.sleep(arguments.seconds)
                adverts = len(scanner.sightings)
            await _read_all(acquaintance, heard, found)
            found.troubles += brokers.troubles.values()
        finally:
            await brokers.close()
        if not heard:
            found.why = await diagnose(
                clock, arguments.interface, urls, adverts, service_types=types
            )
    return found


def _addresses(path: Path | None, troubles: list[str]) -> Iterator[str]:
    if path is None:
        return
    text = sys.stdin.read() if str(path) == "-" else path.read_text(encoding="utf-8")
    for item in read_addresses(text):
        yield from item.urls
        if item.said:
            troubles.append(f"{item.text}: {item.said}")


async def _read_all(
    acquaintance: Acquaintance, heard: Mapping[str, Sighting], found: _Found
) -> None:
    async def read(sighting: Sighting) -> None:
        try:
            _, reading = await acquaintance.read(sighting)
        except WalkdownError as reason:
            found.troubles.append(f"{sighting.name}: {reason}")
        else:
            found.read.append((sighting, reading))

    await asyncio.gather(*(read(sighting) for sighting in heard.values()))
    found.read.sort(key=lambda pair: (pair[1].serial, pair[1].url))
    found.troubles.sort()


def _list_interfaces(*, as_json: bool) -> int:
    present = interfaces()
    if as_json:
        say_json([dataclasses.asdict(each) for each in present])
    else:
        rows = [
            (each.name, each.address, each.network, "this machine alone" if each.loopback else "")
            for each in present
        ]
        say(table([("interface", "address", "network", ""), *rows]))
    return DONE if present else REPORTED


def _document(sighting: Sighting, reading: Reading) -> dict[str, Any]:
    return {
        "serial": reading.serial,
        "url": sighting.url,
        "name": sighting.name,
        "heard_at": to_rfc3339(sighting.heard_at),
        "module_type": str(reading.sheet.get("module.type", "")),
        "version": str(reading.sheet.get("build.version", "")),
        "access": reading.access,
    }


def _row(sighting: Sighting, reading: Reading) -> tuple[str, ...]:
    module, build = reading.sheet.get("module.type", ""), reading.sheet.get("build.version", "")
    return (
        reading.serial,
        str(module),
        str(build),
        reading.access,
        sighting.name,
        sighting.url,
    )


def _say_why(why: Diagnosis) -> None:
    if why.obstacle is not Obstacle.NONE:
        say_error(f"No unit was heard: {why.obstacle.value}. {why.reason} {why.next_step}")
        for line in why.tried:
            say_error(f"  tried: {line}")
