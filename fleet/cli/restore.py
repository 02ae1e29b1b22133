"""`walkdown restore UNIT`: bring a unit back to a sheet that was kept of it."""

import argparse
import asyncio
from collections.abc import Sequence

from fleet.cli.apply import exit_code, say_rehearsal, say_result
from fleet.cli.clocks import real_clock
from fleet.cli.reached import (
    Reached,
    add_naming_arguments,
    add_reaching_arguments,
    agreed,
    may_write,
    name_of,
    reached,
)
from fleet.cli.saying import DONE, REPORTED, USAGE, say, say_error, say_json, table
from fleet.engine.restoring import chosen_sheet, rehearse_restoring, restore_unit
from fleet.engine.settling import settle_all
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.restoring import Impossible
from fleet.model.clock import to_rfc3339
from fleet.model.errors import PlanError

HEAD = ("sheet", "kind", "at", "items", "why")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("unit", metavar="UNIT", help="a unit's label or serial")
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument(
        "--to",
        metavar="SHEET",
        help="as-left, as-found (the first reading of the last visit), a key such as sheet-17, "
        "a date or a moment",
    )
    which.add_argument("--list", action="store_true", help="list the sheets that are kept of it")
    parser.add_argument(
        "--dry-run", action="store_true", help="do all of it but the writes: only read"
    )
    parser.add_argument("--json", action="store_true", help="with --list: JSON for scripts")
    add_naming_arguments(parser)
    add_reaching_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """List what is kept, or restore."""
    if arguments.list:
        return _list(arguments)
    if not may_write(arguments, dry_run=arguments.dry_run):
        say_error("nobody is at the terminal to agree: name --yes, or --dry-run.")
        return USAGE
    return asyncio.run(_run(arguments))


def serial_of(inventory: Inventory, unit: str) -> tuple[str, str]:
    """Return serial and label of a unit, by either.

    Raises:
        PlanError: the inventory knows no such unit.
    """
    lines = inventory.plan().units if inventory.site_name is not None else ()
    for line in lines:
        if line.serial and unit in (line.label, line.serial):
            return line.serial, line.label
    if unit in inventory.readings():
        return unit, unit
    raise PlanError(
        "there is no unit of that label or serial that was read.",
        subject=unit,
        stands="Nothing was written.",
        next_step="See the schedule for the labels.",
    )


def _list(arguments: argparse.Namespace) -> int:
    with open_inventory(arguments.data, real_clock()) as inventory:
        serial, _ = serial_of(inventory, arguments.unit)
        kept = inventory.sheets_of_unit(serial)
    if arguments.json:
        say_json([_document(sheet) for sheet in kept])
    elif kept:
        rows = [(s.key, s.kind, to_rfc3339(s.at), str(len(s.sheet)), s.why) for s in kept]
        say(table([HEAD, *rows]))
    else:
        say("Nothing is kept of it yet.")
    return DONE if kept else REPORTED


def _document(sheet: KeptSheet) -> dict[str, object]:
    return {
        "sheet": sheet.key,
        "kind": sheet.kind,
        "at": to_rfc3339(sheet.at),
        "why": sheet.why,
        "items": dict(sheet.sheet),
    }


async def _run(arguments: argparse.Namespace) -> int:
    by = name_of(arguments)
    with open_inventory(arguments.data, real_clock()) as inventory:
        serial, label = serial_of(inventory, arguments.unit)
        kept = chosen_sheet(inventory.sheets_of_unit(serial), arguments.to)
    say(f"{label}: to {kept.key}, {kept.kind}, {to_rfc3339(kept.at)}: {kept.why}")
    async with reached(arguments, [serial]) as units:
        if not arguments.dry_run:
            for result in await settle_all(units.inventory, units.hands.link_to):
                say_result(result)
        rehearsed = await rehearse_restoring(units.hands, serial, kept, label=label)
        for rehearsal in rehearsed.rehearsals:
            say_rehearsal(rehearsal)
        _say_impossible(rehearsed.impossible)
        if not rehearsed.rehearsals:
            say("Nothing that can be written differs.")
        if arguments.dry_run or not rehearsed.rehearsals:
            could = all(one.could for one in rehearsed.rehearsals)
            return DONE if could and not rehearsed.impossible else REPORTED
        if not agreed(arguments):
            say("Nothing was written.")
            return REPORTED
        return await _restore(units, (serial, label), kept, by)


async def _restore(units: Reached, unit: tuple[str, str], kept: KeptSheet, by: str) -> int:
    serial, label = unit
    done = await restore_unit(units.hands, serial, kept, by=by, label=label, after_each=say_result)
    if done.left is None:
        say(f"{label}: it can't be read back just now.")
    for change in done.left or ():
        say(f"{label} {change.key}: still {change.found}, {change.planned} was kept")
    waiting = len(done.impossible) + (1 if done.left is None else len(done.left))
    return exit_code([result.state for result in done.results], waiting)


def _say_impossible(impossible: Sequence[Impossible]) -> None:
    for item in impossible:
        kept = "none" if item.kept is None else item.kept
        found = "none" if item.found is None else item.found
        say(f"can't be written back: {item.key} (kept {kept}, found {found}): {item.reason}")
