"""`walkdown unit URL`: one unit as read now."""

import argparse
import asyncio
from collections.abc import Mapping
from typing import Any

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_json, table
from fleet.engine.files import schema
from fleet.engine.reading import read_unit
from fleet.link.connections import description_url
from fleet.link.unit_link import Links
from fleet.model.clock import to_rfc3339
from fleet.model.sheets import Sheet, areas_of, outline_to_text
from fleet.model.units import Reading


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("url", metavar="URL", help="where the unit's description lies")
    parser.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Read one unit and print it."""
    reading = asyncio.run(_read(arguments.url))
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
        "read_at": to_rfc3339(reading.read_at),
        "missing": list(reading.missing),
    }


async def _read(url: str) -> Reading:
    links = Links(schema("td-1.1"))
    try:
        link = await links.describe(description_url(url))
        return await read_unit(link, link.thing.url, real_clock())
    finally:
        await links.close()


def _settings(sheet: Sheet) -> Mapping[str, Any]:
    return {
        key.removeprefix("setting."): value
        for key, value in sheet.items()
        if key.startswith("setting.")
    }


def _in_words(reading: Reading) -> str:
    rows = [("serial", reading.serial), ("read at", to_rfc3339(reading.read_at))]
    rows += [(key, str(value)) for key, value in sorted(reading.sheet.items())]
    rows += [(name, str(value)) for name, value in reading.capabilities.items()]
    if reading.signal_dbm is not None:
        rows.append(("signal", f"{reading.signal_dbm} dBm"))
    rows += [(name, said) for name, said in reading.other.items()]
    rows += [("doesn't say", what) for what in reading.missing]
    rows += [("odd", what) for what in reading.complaints]
    return table(list(rows))
