"""Opening a visit on the simulated house, for the window and for the job without one."""

import contextlib
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.installer import Installer, PlayedVisit
from fleet.cli.simulated_house import own_address, simulated_house
from fleet.cli.starting import WorkbenchStart
from fleet.engine.files import read_plan
from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.signing.ed25519 import new_key
from fleet.simulator.stage_client import StageClient

SHELF_NAME = "shelf"
"""The folder of a house's own firmware shelf, where it has one."""


@dataclass(frozen=True, slots=True)
class DemoPlace:
    """Where a demo runs.

    Attributes:
        out: folder for findings and record.
        data: the inventory's folder.
        house: folder with plan.json and truth.json.
        seed: of all that is left to chance.
        speed: house seconds a wall second.
    """

    out: Path
    data: Path
    house: Path
    seed: int
    speed: float


@contextlib.asynccontextmanager
async def demo_visit(place: DemoPlace) -> AsyncIterator[PlayedVisit]:
    """Start the house, make an inventory from its plan, and give a visit that is under way.

    Raises:
        PlanError: the house's plan can't be used, or the inventory already holds it.
        LinkError: the house doesn't come up.
    """
    async with contextlib.AsyncExitStack() as stack:
        yield await _open(place, stack)


def demo_start(place: DemoPlace) -> WorkbenchStart:
    """Return the start of the workbench on the simulated house, somebody walking about in it."""

    async def make_visit() -> Visit:
        async with contextlib.AsyncExitStack() as stack:
            visit = await _open(place, stack)
            visit.close_with(stack.pop_all())
        return visit

    note = f"demo, invented house · clock × {place.speed:g}"
    return WorkbenchStart(place.data, make_visit, note=note)


async def _open(place: DemoPlace, stack: contextlib.AsyncExitStack) -> PlayedVisit:
    plan = read_plan(place.house)
    clock = real_clock(place.speed)
    inventory = stack.enter_context(open_inventory(place.data, clock))
    inventory.add_site(plan)
    inventory.choose_site(plan.site.name)
    address = own_address()
    house = await stack.enter_async_context(
        simulated_house(place.house, seed=place.seed, speed=place.speed, address=address)
    )
    stage = await stack.enter_async_context(StageClient(house.stage_host, house.stage_port))
    shelf = place.house / SHELF_NAME
    return PlayedVisit(
        inventory,
        clock,
        Installer(stage, plan),
        address=address,
        key_source=new_key,
        shelf=shelf if shelf.is_dir() else None,
    )
