"""kill -9 at every step of an apply: the next start says what stands, and settles it by reading."""

import asyncio
import signal
import subprocess
import sys

import pytest

from fleet.cli.clocks import real_clock
from fleet.cli.simulated_house import simulated_house
from fleet.discovery.scanner import Scanner
from fleet.engine.files import read_plan
from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.model.journal import StepState
from fleet.shipped import resources
from tests.features.whole_job import walkdown

HOUSE = resources() / "houses" / "marlpit"
ADDRESS = "127.0.0.1"
WANTED_S = 77
UNITS = 14


async def unit_urls(house_address, clock):
    """Return serial → address of the house's units, heard by mDNS."""
    heard, all_heard = {}, asyncio.Event()

    def take(sighting):
        heard[sighting.name] = sighting.url
        if len(heard) == UNITS:
            all_heard.set()

    scanner = Scanner(clock, take, interface=ADDRESS, within=f"{house_address}/32")
    async with scanner, asyncio.timeout(20):
        await all_heard.wait()
    return heard


async def kill_and_settle(point, folder):
    """Kill an apply at a point; return what the next start finds open, and what settling gives."""
    clock = real_clock()
    plan = read_plan(HOUSE)
    with open_inventory(folder, clock) as inventory:
        inventory.add_site(plan)
    address = "127.44.0.9"
    async with simulated_house(HOUSE, seed=1, speed=1.0, address=address):
        url = min((await unit_urls(address, clock)).values())
        killed = await asyncio.to_thread(
            subprocess.run,
            [sys.executable, "-m", "tests.faults.killed_apply", point, str(folder), url, "77"],
            check=False,
            capture_output=True,
        )
        assert killed.returncode == -signal.SIGKILL, killed.stderr.decode()
        told = await asyncio.to_thread(walkdown, "jobs", "--data", folder)
        with open_inventory(folder, clock) as inventory:
            visit = Visit(inventory, clock, interface=ADDRESS)
            await visit.start()
            doubtful = visit.snapshot().house.doubtful
            serial = await visit.add_address(url)
            results = await visit.settle()
            await visit.read_all()
            held = inventory.readings()[serial].sheet["setting.hold_time_s"]
            left = inventory.open_steps()
            broken = inventory.first_broken_row()
            await visit.stop()
    return told.stdout, doubtful, results, held, left, broken


@pytest.mark.parametrize(
    ("point", "open_steps", "state", "written"),
    [
        ("before-intent", 0, None, False),
        ("after-intent", 1, StepState.NOT_DONE, False),
        ("after-write", 1, StepState.DONE, True),
        ("before-outcome", 1, StepState.DONE, True),
        ("after-outcome", 0, None, True),
    ],
)
def test_the_next_start_says_what_stands(point, open_steps, state, written, tmp_path):
    told, doubtful, results, held, left, broken = asyncio.run(
        kill_and_settle(point, tmp_path / "data")
    )
    assert len(doubtful) == open_steps
    assert ("in doubt" in told) is bool(open_steps)
    assert [result.state for result in results] == ([state] if state else [])
    assert (held == WANTED_S) is written
    assert left == ()
    assert broken is None
