"""`walkdown identify [LABEL…|--all]`: units show themselves, one after another."""

import argparse
import asyncio
import sys
from collections.abc import Callable, Mapping, Sequence

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_error
from fleet.cli.secret import vault_passphrase
from fleet.cli.starting import open_visit
from fleet.engine.identify_sweep import in_plan_order, sweep
from fleet.model.errors import PlanError
from fleet.model.house import HousePlan, PlannedUnit

BELL = "\a"
SCAN_S = 5.0
LONGEST_S = 600


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("labels", nargs="*", default=[], metavar="LABEL", help="a unit's label")
    which.add_argument("--all", action="store_true", help="every unit, in the order of the plan")
    parser.add_argument(
        "--seconds", type=_seconds, default=5, metavar="N", help="how long each shows itself (5)"
    )
    parser.add_argument("--interface", default="", metavar="ADDR", help="address to listen on")


def run(arguments: argparse.Namespace) -> int:
    """Find the units, and have them show themselves; the terminal's bell sounds at each change."""
    return asyncio.run(_run(arguments))


def chosen(plan: HousePlan, labels: Sequence[str]) -> tuple[PlannedUnit, ...]:
    """Return the lines of the schedule that are meant: in the order named, or all in plan order.

    Raises:
        PlanError: a label isn't on the schedule, or has no serial yet.
    """
    if not labels:
        return tuple(line for line in in_plan_order(plan) if line.serial)
    by_label = {line.label: line for line in plan.units if line.serial}
    for label in labels:
        if label not in by_label:
            raise PlanError(
                "there is no unit of that label with a serial.",
                subject=label,
                stands="No unit was asked to show itself.",
                next_step="See the schedule for the labels, or name --all.",
            )
    return tuple(by_label[label] for label in labels)


async def _run(arguments: argparse.Namespace) -> int:
    ask = vault_passphrase(arguments.data)
    visit = open_visit(arguments.data, ask, interface=arguments.interface)
    try:
        await visit.start()
        plan = visit.snapshot().house.plan
        if not plan.units:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        lines = chosen(plan, arguments.labels)
        rooms = {room.key: room.name for room in plan.rooms}
        await visit.scan(SCAN_S)
        troubles = await sweep(
            [line.serial for line in lines],
            visit.identify,
            _sayer(lines, rooms),
            real_clock(),
            arguments.seconds,
            lambda: False,
            ring,
        )
    finally:
        await visit.stop()
    for line in lines:
        if line.serial in troubles:
            say_error(f"{line.label}: {troubles[line.serial]}")
    return REPORTED if troubles else DONE


def ring() -> None:
    """Sound the terminal's bell, where there is a terminal."""
    if sys.stderr.isatty():
        sys.stderr.write(BELL)
        sys.stderr.flush()


def _sayer(lines: Sequence[PlannedUnit], rooms: Mapping[str, str]) -> Callable[[str | None], None]:
    by_serial = {line.serial: line for line in lines}
    count = len(by_serial)

    def say_turn(serial: str | None) -> None:
        if serial is not None:
            line = by_serial[serial]
            number = list(by_serial).index(serial) + 1
            say(f"{number} of {count}  {line.label}  {rooms.get(line.room, line.room)}")

    return say_turn


def _seconds(text: str) -> int:
    seconds = int(text)
    if not 1 <= seconds <= LONGEST_S:
        raise argparse.ArgumentTypeError(f"1 to {LONGEST_S} seconds")
    return seconds
