"""A house of three served units, read once, and what an apply works with."""

import asyncio
import contextlib

from fleet.engine.applying import apply_step
from fleet.jobs.changes import steps_for
from tests.faults.walked_apply import PAUSES_S, changes_of, prepare, working
from tests.faults.walked_units import FIRST, House, served

HOLD, REACH = "setting.hold_time_s", "setting.max_distance_mm"


@contextlib.asynccontextmanager
async def at_work(folder):
    """Serve the house of three units, all read once; gives it and what an apply works with."""
    house = House()
    async with asyncio.timeout(60), served(house) as urls, working(folder / "data", urls) as hands:
        await prepare(hands)
        yield house, hands


def step_of(hands, serial=FIRST, part="settings"):
    (step,) = (
        step
        for step in steps_for(changes_of(hands), hands.inventory.readings())
        if (step.serial, step.part) == (serial, part)
    )
    return step


async def applied(hands, step):
    link = hands.link_to(step.serial)
    return await apply_step(hands.inventory, link, step, pauses_s=PAUSES_S)
