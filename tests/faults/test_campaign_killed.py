"""kill -9 at every step of an update: the next start reads first, sends nothing twice, and ends it."""

import asyncio
import signal
import sys

import pytest

from fleet.inventory.inventory import open_inventory
from fleet.model.firmware import CampaignState, UpdateState
from fleet.simulator.running import running_house
from fleet.simulator.truth import FirmwareFault
from tests.architecture.source_rules import ROOT
from tests.campaigns import container, ends, house_clock, house_of, shelf_with, site_of
from tests.faults.killed_campaign import POINTS

pytestmark = pytest.mark.slow
SPEED = 25.0


async def killed(point, folder, shelf, url):
    """Run the program until it dies; return how it ended, and what the inventory says then."""
    words = [point, folder, shelf.path, shelf.fingerprint, url, SPEED]
    child = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "tests.faults.killed_campaign",
        *map(str, words),
        cwd=ROOT,
        stderr=asyncio.subprocess.PIPE,
    )
    _, said = await asyncio.wait_for(child.communicate(), 60)
    assert child.returncode == -signal.SIGKILL, said.decode()
    with open_inventory(folder, house_clock(1.0)) as inventory:
        return inventory.campaigns.one()


async def killed_and_resumed(point, tmp_path, fault=None):
    plan, truth = house_of(1, faults={"N001": fault} if fault else {})
    shelf, clock, data = (
        shelf_with(tmp_path, container(200_000)),
        house_clock(SPEED),
        tmp_path / "data",
    )
    with open_inventory(data, clock) as inventory:
        inventory.add_site(plan)
    async with running_house(plan, truth, clock=clock, announce=False) as place:
        url = place.units[0].url
        left = await killed(point, data, shelf, url)
        async with site_of(data, plan, [url], clock, shelf) as parts:
            ended = await parts.run_of(left).run(by="Tester")
            sheet = (await parts.fleet.read_again("NN-00000")).sheet
            assert parts.inventory.first_broken_row() is None
        return left, ended, sheet, place.world.units[0][1].installer


@pytest.mark.parametrize("point", POINTS)
async def test_an_update_that_was_killed_is_read_first_and_ended(point, tmp_path):
    left, ended, sheet, installer = await killed_and_resumed(point, tmp_path)
    assert left.state is CampaignState.RUNNING
    state = left.updates[0].state
    untouched, over = point == "before-begun", point == "after-end"
    expected = (
        UpdateState.WAITING if untouched else UpdateState.DONE if over else UpdateState.RUNNING
    )
    assert state is expected
    assert ended.state is CampaignState.DONE
    assert ends(ended) == {"N001": "done"}
    assert sheet["build.version"] == "2.1.3"
    assert installer.orders == 1  # whatever was in flight, it was never told twice
    fetches = {"mid-upload": 2, "after-upload": 2, "after-ordered": 2}
    assert installer.fetches == fetches.get(point, 1)


async def test_settings_that_the_update_lost_are_put_back_by_the_next_start(tmp_path):
    fault = FirmwareFault.SETTINGS_LOST
    _, ended, sheet, _ = await killed_and_resumed("while-confirming", tmp_path, fault)
    assert "of them put back" in ended.updates[0].said
    assert (sheet["setting.hold_time_s"], sheet["setting.max_distance_mm"]) == (45, 6000)


async def test_an_update_that_failed_while_nobody_looked_is_known_as_failed(tmp_path):
    fault = FirmwareFault.CUT_CONFIRMING
    _, ended, sheet, installer = await killed_and_resumed("after-invoke", tmp_path, fault)
    assert ended.state is CampaignState.AT_GATE
    assert ends(ended) == {"N001": UpdateState.OLD_BUILD.value}
    assert sheet["build.version"] == "2.0.4"
    assert installer.orders == 1
