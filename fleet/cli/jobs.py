"""`walkdown jobs`: what is left to do, from the inventory as it stands."""

import argparse

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_json
from fleet.engine.evidence_store import load_lap
from fleet.engine.house_state import build_house_state
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.snapshot import HouseState

GROUPS = {
    "builds": "Builds",
    "settings": "Settings and areas",
    "sign-off": "Sign-off",
    "snags": "Snags",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Print the lines, group by group."""
    with open_inventory(arguments.data, real_clock()) as inventory:
        if inventory.site_name is None:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        house = build_house_state(inventory, load_lap(inventory), {}, real_clock().now())
    if arguments.json:
        say_json(_document(house))
    else:
        say(_in_words(house))
    return REPORTED if house.jobs or house.doubtful else DONE


def _document(house: HouseState) -> list[dict[str, str]]:
    names = {room.key: room.name for room in house.plan.rooms}
    return [
        {
            "key": job.key,
            "group": job.group,
            "room": names[job.room],
            "unit": job.unit,
            "title": job.title,
            "reason": job.reason,
            "action": job.action,
            "state": job.state.value,
        }
        for job in house.jobs
    ]


def _readings(house: HouseState) -> list[str]:
    """Say how old what is known of the units is: nothing to do in a house that nobody read says nothing."""
    units = house.units.values()
    read_at = [unit.found.read_at for unit in units if unit.found is not None]
    never = [unit.line.label for unit in units if unit.found is None]
    lines = []
    if read_at:
        oldest = f"the longest ago on {min(read_at):%d %b %Y %H:%M} UTC"
        lines.append(f"{len(read_at)} of {len(units)} units were read, {oldest}")
    if never:
        lines.append(f"never read, so nothing is known of them: {', '.join(sorted(never))}")
    return lines


def _in_words(house: HouseState) -> str:
    names = {room.key: room.name for room in house.plan.rooms}
    lines = [house.plan.site.name + (" (demo, invented)" if house.plan.site.demo else "")]
    lines += _readings(house)
    lines += [
        f"in doubt: {step.step.label} {step.step.part}: scan, and it is settled by reading"
        for step in house.doubtful
    ]
    for group, title in GROUPS.items():
        jobs = [job for job in house.jobs if job.group == group]
        lines.append(f"{title}: {len(jobs) or 'nothing to do'}")
        lines += [f"  {job.state:<10} {names[job.room]}: {job.title}: {job.reason}" for job in jobs]
    return "\n".join(lines)
