"""A window on the real engine with the simulated house beside it, for tests that work as a person would."""

import contextlib

from PySide6.QtWidgets import QDialog

from fleet.cli.clocks import real_clock
from fleet.cli.installer import Installer, PlayedVisit
from fleet.cli.simulated_house import own_address, simulated_house
from fleet.inventory.inventory import open_inventory
from fleet.shipped import resources
from fleet.signing.ed25519 import new_key
from fleet.simulator.stage_client import StageClient
from tests.ui.screens import wait_for
from ui.bridge.session import Session
from ui.windows.workbench import WorkbenchWindow

HOUSE = resources() / "houses" / "marlpit"
SPEED = 20.0
LIMIT_MS = 60_000


@contextlib.contextmanager
def workbench(plan, folder):
    """A window on a real visit to the simulated house."""
    stack = contextlib.AsyncExitStack()

    async def make_visit():
        clock = real_clock(SPEED)
        inventory = stack.enter_context(open_inventory(folder / "inventory", clock))
        inventory.add_site(plan)
        inventory.choose_site(plan.site.name)
        address = own_address()
        house = await stack.enter_async_context(
            simulated_house(HOUSE, seed=1, speed=SPEED, address=address)
        )
        stage = await stack.enter_async_context(StageClient(house.stage_host, house.stage_port))
        visit = PlayedVisit(
            inventory,
            clock,
            Installer(stage, plan),
            address=address,
            key_source=new_key,
            shelf=HOUSE / "shelf",
        )
        visit.close_with(stack)
        return visit

    session = Session("Test installer")
    window = WorkbenchWindow(session, records=folder)
    window.show()
    session.open(make_visit)
    try:
        wait_for(lambda: session.house is not None or window.foot.said(), LIMIT_MS)
        assert not window.foot.said()
        yield window
    finally:
        window.close()


def decide_all(review, reason):
    """Go back to the plan wherever somebody changed something on site, and say why."""
    for number in range(review.table.rowCount()):
        review.table.setCurrentCell(number, 0)
        if not review.table.current().waits:
            continue
        key = review.table.current().key
        review._decide_current()
        decide = review.findChildren(QDialog)[-1]
        decide.reason.setText(reason)
        decide._decide(keep_found=False)
        wait_for(lambda key=key: key in review._decided, LIMIT_MS)
