"""`walkdown record --out DIR`: issue the hand-over record of the current site."""

import argparse
import asyncio
import getpass
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, ask_passphrase, say
from fleet.cli.starting import key_source
from fleet.engine.evidence_store import load_lap
from fleet.engine.handing_over import issue_record
from fleet.engine.house_state import build_house_state
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="a new folder")
    parser.add_argument("--by", default=getpass.getuser(), help="who issues it")


def run(arguments: argparse.Namespace) -> int:
    """Issue the record."""
    clock = real_clock()
    with open_inventory(arguments.data, clock) as inventory:
        if inventory.site_name is None:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        house = build_house_state(inventory, load_lap(inventory), {}, real_clock().now())
        folder = asyncio.run(
            issue_record(
                inventory,
                house,
                clock,
                arguments.out,
                by=arguments.by,
                key_source=key_source(arguments.data, inventory, ask_passphrase),
            )
        )
    say(f"The record of {house.plan.site.name} lies in {folder}. Check it: walkdown check {folder}")
    return DONE
