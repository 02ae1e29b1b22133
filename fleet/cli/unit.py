"""`walkdown unit URL`: one unit as read now."""

import argparse
import asyncio
from collections.abc import Mapping
from typing import Any

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_json, table
from fleet.cli.secret import vault_passphrase
from fleet.cli.starting import acquaintance_of
from fleet.engine.meeting import BY_PROFILE
from fleet.link.connections import description_url
from fleet.model.clock import to_rfc3339
from fleet.model.sheets import Sheet, areas_of, outline_to_text
from fleet.model.units import Reading, Sighting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("url", metavar="URL", help="where the unit's description lies")
    parser.add_argument(
        "--profile", default="", metavar="NAME", help="for a unit without a description of its own"
    )
    parser.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Read one unit and print it."""
    reading = asyncio.run(_read(arguments))
    document = document_of(reading)
    if arguments.json:
        say_json(document)
    else:
        say(_in_words(reading))
    return REPORTED if reading.missing else DONE


def document_of(reading: Reading) -> dict[str, Any]:
    """Return a reading as the documented JSON of this verb."""
    sheet = reading.sheet
    return {
        "serial": reading.serial,
        "hardware_revision": sheet.get("hardware.revision"),
        "module_type": sheet.get("module.type"),
        "build": {
            "version": sheet.get("build.version"),
            "build_id": sheet.get("build.id"),
            "image_digest": sheet.get("build.image_digest"),
        },
        "capabilities": dict(reading.capabilities),
        "settings": _settings(sheet),
        "area_set": {
            "revision": reading.area_revision,
            "areas": [
                {
                    "id": area.key,
                    "label": area.label,
                    "kind": area.kind.value,
                    "outline": outline_to_text(area.outline_mm),
                }
                for area in areas_of(sheet)
            ],
        },
        "access": reading.access,
        "other": dict(reading.other),
        "read_at": to_rfc3339(reading.read_at),
        "missing": list(reading.missing),
    }


async def _read(arguments: argparse.Namespace) -> Reading:
    clock = real_clock()
    kind = f"{BY_PROFILE}{arguments.profile}" if arguments.profile else ""
    url = description_url(arguments.url)
    sighting = Sighting(arguments.url, url, clock.now(), service_type=kind)
    async with acquaintance_of(arguments.data, vault_passphrase(arguments.data)) as acquaintance:
        _, reading = await acquaintance.read(sighting)
        return reading


def _settings(sheet: Sheet) -> Mapping[str, Any]:
    return {
        key.removeprefix("setting."): value
        for key, value in sheet.items()
        if key.startswith("setting.")
    }


def _in_words(reading: Reading) -> str:
    rows = [
        ("serial", reading.serial),
        ("read at", to_rfc3339(reading.read_at)),
        ("lets in", reading.access),
    ]
    rows += [(key, str(value)) for key, value in sorted(reading.sheet.items())]
    rows += [(name, str(value)) for name, value in reading.capabilities.items()]
    if reading.signal_dbm is not None:
        rows.append(("signal", f"{reading.signal_dbm} dBm"))
    rows += [(name, said) for name, said in reading.other.items()]
    rows += [("doesn't say", what) for what in reading.missing]
    rows += [("odd", what) for what in reading.complaints]
    return table(list(rows))
