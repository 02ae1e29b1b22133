"""`walkdown site add PLAN`: start a site from a plan file."""

import argparse
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, say
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    verbs = parser.add_subparsers(dest="site_verb", required=True)
    add = verbs.add_parser("add", help="start a site from a plan file")
    add.add_argument("plan", type=Path, metavar="PLAN", help="plan file, or a house's folder")
    add.add_argument(  # behind the second word too, where a person writes it
        "--data", type=Path, default=argparse.SUPPRESS, metavar="DIR", help="the inventory's folder"
    )


def run(arguments: argparse.Namespace) -> int:
    """Take the plan over into the inventory."""
    plan = read_plan(arguments.plan)
    with open_inventory(arguments.data, real_clock()) as inventory:
        inventory.add_site(plan)
        inventory.choose_site(plan.site.name)
    say(f"{plan.site.name}: {len(plan.rooms)} rooms and {len(plan.units)} units were taken over.")
    return DONE
