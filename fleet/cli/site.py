"""`walkdown site add|list|use`: the sites of an inventory, and which of them is meant."""

import argparse
import json
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, say
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    verbs = parser.add_subparsers(dest="site_verb", required=True)
    add = verbs.add_parser("add", help="start a site from a plan file; it is the current one then")
    add.add_argument("plan", type=Path, metavar="PLAN", help="plan file, or a house's folder")
    listed = verbs.add_parser("list", help="all sites, and which is the current one")
    listed.add_argument("--json", action="store_true", help="as JSON")
    use = verbs.add_parser("use", help="make another site the current one")
    use.add_argument("name", metavar="NAME", help="as the list has it")
    for verb in (add, listed, use):
        verb.add_argument(  # behind the second word too, where a person writes it
            "--data",
            type=Path,
            default=argparse.SUPPRESS,
            metavar="DIR",
            help="the inventory's folder",
        )


def run(arguments: argparse.Namespace) -> int:
    """Do what the second word asks for."""
    {"add": _add, "list": _list, "use": _use}[arguments.site_verb](arguments)
    return DONE


def _add(arguments: argparse.Namespace) -> None:
    """Take the plan over into the inventory."""
    plan = read_plan(arguments.plan)
    with open_inventory(arguments.data, real_clock()) as inventory:
        inventory.add_site(plan)
        inventory.choose_site(plan.site.name)
    say(f"{plan.site.name}: {len(plan.rooms)} rooms and {len(plan.units)} units were taken over.")


def _list(arguments: argparse.Namespace) -> None:
    with open_inventory(arguments.data, real_clock()) as inventory:
        names, current = inventory.sites(), inventory.site_name
    if arguments.json:
        say(json.dumps({"sites": names, "current": current}, ensure_ascii=False))
        return
    for name in names:
        say(f"{name}, the current one" if name == current else name)
    if not names:
        say("No site yet. Start one from a plan file: walkdown site add PLAN")


def _use(arguments: argparse.Namespace) -> None:
    with open_inventory(arguments.data, real_clock()) as inventory:
        inventory.choose_site(arguments.name)
    say(f"{arguments.name} is the current site now.")
