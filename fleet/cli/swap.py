"""`walkdown swap LABEL`: another unit in a place, or another module in a unit. Units aren't written to."""

import argparse
import asyncio
import contextlib
from collections.abc import Iterator
from typing import Any

import msgspec

from fleet.cli.clocks import real_clock
from fleet.cli.reached import (
    add_naming_arguments,
    add_reaching_arguments,
    agreed,
    may_write,
    name_of,
    need_to_write,
    reached,
)
from fleet.cli.saying import DONE, REPORTED, USAGE, say, say_error, say_json
from fleet.engine.evidence_store import load_lap
from fleet.engine.house_state import build_house_state
from fleet.engine.swapping import mount_as_said, planned_swap, swap
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.kept_sheets import BETWEEN_VISITS
from fleet.jobs.swap_signs import SwapKind, SwapSign, swap_signs
from fleet.jobs.swapping import SwapPlan
from fleet.model.clock import to_rfc3339
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.snapshot import HouseState

MDEG_PER_DEG = 1000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument(
        "label", metavar="LABEL", nargs="?", help="whose place; none lists what looks like a swap"
    )
    parser.add_argument(
        "--to", default="", metavar="SERIAL", help="the unit that takes it over, once it was read"
    )
    same = parser.add_mutually_exclusive_group()
    same.add_argument(
        "--module", action="store_true", help="the unit stays; its module was replaced"
    )
    same.add_argument("--reset", action="store_true", help="the unit stays, and had been reset")
    parser.add_argument(
        "--mounted",
        choices=("upright", "upside-down"),
        help="how the new one is fixed, if otherwise",
    )
    parser.add_argument(
        "--heading", type=int, metavar="DEG", help="where it looks, counter-clockwise from plan x"
    )
    parser.add_argument(
        "--keep-area",
        action="append",
        default=[],
        metavar="ID",
        help="keep this one if not all fit",
    )
    parser.add_argument("--why", default="", metavar="TEXT", help="the reason, for the journal")
    parser.add_argument(
        "--dry-run", action="store_true", help="show what it comes to, change nothing"
    )
    parser.add_argument("--json", action="store_true", help="with --dry-run: JSON for scripts")
    parser.add_argument(
        "--listen", action="store_true", help="listen for units first, instead of the last readings"
    )
    add_naming_arguments(parser)
    add_reaching_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Show what a swap comes to, ask, and do it."""
    looks = arguments.dry_run or not arguments.label
    if not may_write(arguments, dry_run=looks):
        say_error("nobody is at the terminal to agree: name --yes, or --dry-run.")
        return USAGE
    if not looks and not arguments.why.strip():
        say_error("why it is swapped has to be said: name --why.")
        return USAGE
    if arguments.to and (arguments.module or arguments.reset):
        say_error("--to names another unit; --module and --reset mean the same one.")
        return USAGE
    if arguments.listen or arguments.interface or arguments.address:
        asyncio.run(_meet(arguments))
    with _open(arguments, to_write=not looks) as inventory:
        house = build_house_state(inventory, load_lap(inventory), {}, real_clock().now())
        signs = signs_by_readings(house)
        if not arguments.label:
            return _list(signs)
        return _swap(inventory, house, signs, arguments)


def signs_by_readings(house: HouseState) -> tuple[SwapSign, ...]:
    """List what looks like a swap by the last readings alone.

    A unit counts as silent that wasn't read at the visit at which the newest reading was taken.
    """
    readings = [unit.found for unit in house.units.values() if unit.found] + [*house.unplaced]
    newest = max((one.read_at for one in readings), default=None)
    silent = {
        unit.line.serial
        for unit in house.units.values()
        if newest and (not unit.found or newest - unit.found.read_at >= BETWEEN_VISITS)
    }
    fresh = tuple(one for one in house.unplaced if newest and newest - one.read_at < BETWEEN_VISITS)
    return swap_signs(tuple(house.units.values()), fresh, silent - {""})


def _swap(
    inventory: Inventory,
    house: HouseState,
    signs: tuple[SwapSign, ...],
    arguments: argparse.Namespace,
) -> int:
    plan = planned_swap(
        inventory,
        house,
        arguments.label,
        _successor(signs, arguments),
        kind=_kind(arguments),
        mount=_mount(house, arguments),
        chosen_areas=arguments.keep_area,
    )
    if arguments.json and arguments.dry_run:
        say_json(document_of(plan))
        return REPORTED
    _say_plan(inventory, plan)
    if arguments.dry_run:
        return REPORTED
    if not agreed(arguments):
        say("Nothing was swapped.")
        return REPORTED
    row = swap(inventory, plan, by=name_of(arguments), why=arguments.why.strip())
    say(f"{plan.line.label}: {plan.kind}, journal row {row.number}. {_next_step(plan)}")
    return REPORTED if plan.redo or plan.decide else DONE


def document_of(plan: SwapPlan) -> dict[str, Any]:
    """Return a planned swap as the documented JSON of this verb."""
    return {
        "label": plan.line.label,
        "kind": plan.kind.value,
        "serial_before": plan.before.serial,
        "serial": plan.line.serial,
        "line": msgspec.to_builtins(plan.line),
        "rows": [msgspec.to_builtins(row) for row in plan.rows],
        "lapses": [msgspec.to_builtins(one) for one in plan.lapsed],
        "again": [msgspec.to_builtins(one) for one in plan.redo],
        "decide": list(plan.decide),
    }


def _say_plan(inventory: Inventory, plan: SwapPlan) -> None:
    reading = inventory.readings()[plan.line.serial]
    before, now = plan.before.serial, plan.line.serial
    who = now if before == now else f"{before} → {now}"
    say(f"{plan.line.label}: {plan.kind}: {who}, read {to_rfc3339(reading.read_at)}")
    for head, sentences in (
        ("Carries over", plan.carries),
        ("Dropped", plan.dropped),
        ("Brought along", plan.own),
        ("Lapses", plan.lapses),
        ("To do and to decide", plan.to_do),
    ):
        say(f"{head}:" if sentences else f"{head}: nothing")
        for sentence in sentences:
            say(f"  {sentence}")


def _list(signs: tuple[SwapSign, ...]) -> int:
    for sign in signs:
        say(f"{sign.label}: {sign.kind}? {sign.reason}")
    if not signs:
        say("Nothing looks like a swap, by the last readings.")
    return REPORTED if signs else DONE


def _successor(signs: tuple[SwapSign, ...], arguments: argparse.Namespace) -> str:
    """Return the serial that is meant; "" for the unit itself.

    Raises:
        PlanError: more than one unit may be meant.
    """
    if arguments.to or arguments.module or arguments.reset:
        return str(arguments.to)
    likely = sorted({sign.serial for sign in signs if sign.label == arguments.label})
    if len(likely) > 1:
        raise PlanError(
            f"{len(likely)} units may have taken its place: {', '.join(likely)}.",
            subject=arguments.label,
            stands="Nothing was swapped.",
            next_step="Name one: --to SERIAL.",
        )
    return likely[0] if likely else ""


def _kind(arguments: argparse.Namespace) -> SwapKind | None:
    if arguments.module:
        return SwapKind.MODULE
    return SwapKind.RESET if arguments.reset else None


def _mount(house: HouseState, arguments: argparse.Namespace) -> Pose | None:
    poses = [one.line.pose for one in house.units.values() if one.line.label == arguments.label]
    mounted, heading_deg = arguments.mounted, arguments.heading
    return mount_as_said(
        poses[0] if poses else Pose(0, 0, 0),
        upside_down=None if mounted is None else mounted == "upside-down",
        heading_mdeg=None if heading_deg is None else heading_deg * MDEG_PER_DEG,
    )


def _next_step(plan: SwapPlan) -> str:
    if plan.kind is SwapKind.RESET:
        return f"Next: walkdown restore {plan.line.label} --to as-left"
    return f"Next: walkdown apply {plan.line.label}"


@contextlib.contextmanager
def _open(arguments: argparse.Namespace, *, to_write: bool) -> Iterator[Inventory]:
    with open_inventory(arguments.data, real_clock()) as inventory:
        if to_write:
            need_to_write(inventory)
        elif inventory.site_name is None:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        yield inventory


async def _meet(arguments: argparse.Namespace) -> None:
    """Meet units, so that what they are now is read and kept."""
    async with reached(arguments):
        pass
