"""A program of its own that updates one unit and is killed on the way: run by the test beside it.

Arguments: the point to die at, the inventory's folder, the shelf, the unit's address, the clock's speed.
"""

import asyncio
import os
import signal
import sys
from pathlib import Path

from fleet.engine.campaign_plan import plan_campaign
from fleet.engine.campaign_run import CampaignMeans, CampaignRun
from fleet.engine.installation_watch import InstallationWatch
from fleet.inventory.campaigns import Campaigns
from fleet.link.unit_link import UnitLink
from fleet.link.uploading import Flow
from fleet.model.firmware import CampaignTerms
from fleet.shelf.opening import open_shelf
from tests.campaigns import FAST_LIMITS, house_clock, site_of

SOME_PIECES = 5
POINTS = (
    "before-begun",
    "after-begun",
    "mid-upload",
    "after-upload",
    "after-ordered",
    "after-invoke",
    "while-applying",
    "while-confirming",
    "before-checking",
    "after-checking",
    "before-end",
    "after-end",
)
_STAGES = {
    "sending the image": "begun",
    "told to install it": "ordered",
    "checked after it": "checking",
}


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def plant(point: str) -> None:
    """Have the process die at a point of the update."""
    plant_in_steps(point)
    plant_in_sending(point)
    take = InstallationWatch._take

    def take_and_die(self, now):
        take(self, now)
        if point == f"while-{now.state}":
            die()

    InstallationWatch._take = take_and_die


def plant_in_steps(point: str) -> None:
    save = Campaigns.save_update

    def save_and_die(self, number, update, as_found=None):
        step = "end" if update.took_s is not None else _STAGES[update.stage.value]
        if point in (f"before-{step}", "after-upload" if step == "ordered" else ""):
            die()
        save(self, number, update, as_found)
        if point == f"after-{step}":
            die()

    Campaigns.save_update = save_and_die


def plant_in_sending(point: str) -> None:
    invoke, pieces = UnitLink.invoke, Flow.pieces

    async def invoke_and_die(self, affordance, argument=None):
        result = await invoke(self, affordance, argument)
        if point == "after-invoke":
            die()
        return result

    async def pieces_and_die(self, octets):
        count = 0
        async for piece in pieces(self, octets):
            yield piece
            count += 1
            if point == "mid-upload" and count == SOME_PIECES:
                die()

    UnitLink.invoke, Flow.pieces = invoke_and_die, pieces_and_die


async def update(data: Path, shelf_path: Path, key: str, url: str, speed: float) -> None:
    clock, shelf = house_clock(speed), open_shelf(shelf_path, {key})
    async with site_of(data, None, [url], clock, shelf) as parts:
        plan = plan_campaign(parts.inventory, parts.image, CampaignTerms(dwell_s=1))
        campaign = parts.inventory.campaigns.begin(
            plan.image, plan.terms, plan.updates, by="Killed"
        )
        means = CampaignMeans(
            parts.inventory, parts.fleet, clock, lambda: shelf.image_bytes(plan.image), FAST_LIMITS
        )
        await CampaignRun(means, campaign, lambda *_: None).run(by="Killed")


if __name__ == "__main__":
    plant(sys.argv[1])
    data, shelf, key, url = sys.argv[2:6]
    asyncio.run(update(Path(data), Path(shelf), key, url, float(sys.argv[6])))
