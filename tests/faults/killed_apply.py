"""A program of its own that applies one setting and is killed on the way: run by the test beside it.

Arguments: the point to die at, the inventory's folder, the unit's address, hold time to write in s.
"""

import asyncio
import os
import signal
import sys
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.engine import applying
from fleet.engine.visit import Visit
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.link.unit_link import UnitLink
from fleet.model.journal import Change


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def plant(point: str) -> None:
    """Have the process die at a point of the apply."""
    intend, write, conclude = Inventory.intend, UnitLink.write, Inventory.conclude

    def intend_and_die(self, step, more=None):
        if point == "before-intent":
            die()
        key = intend(self, step, more)
        if point == "after-intent":
            die()
        return key

    async def write_and_die(self, affordance, value, etag):
        await write(self, affordance, value, etag)
        if point == "after-write":
            die()

    def conclude_and_die(self, key, state, said, more=None):
        if point == "before-outcome":
            die()
        conclude(self, key, state, said, more)
        if point == "after-outcome":
            die()

    Inventory.intend, UnitLink.write, Inventory.conclude = (
        intend_and_die,
        write_and_die,
        conclude_and_die,
    )


async def apply(folder: Path, url: str, hold_time_s: int) -> None:
    clock = real_clock()
    inventory = open_inventory(folder, clock)
    visit = Visit(inventory, clock, interface="127.0.0.1", at_end=inventory.close)
    await visit.start()
    serial = await visit.add_address(url)
    found = inventory.readings()[serial].sheet["setting.hold_time_s"]
    key = "setting.hold_time_s"
    change = Change(serial, "U", key, found, found, hold_time_s, "test")
    results = await visit.apply([change], by="test")
    await visit.stop()
    assert results[0].state is applying.StepState.DONE


if __name__ == "__main__":
    plant(sys.argv[1])
    asyncio.run(apply(Path(sys.argv[2]), sys.argv[3], int(sys.argv[4])))
