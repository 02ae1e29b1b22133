"""The whole job in the window, on the real engine with the simulated house beside it."""

import contextlib
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog

from fleet.cli.clocks import real_clock
from fleet.cli.installer import Installer, PlayedVisit
from fleet.cli.simulated_house import own_address, simulated_house
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory
from fleet.record.checking import check
from fleet.shipped import resources
from fleet.signing.ed25519 import new_key
from fleet.simulator.stage_client import StageClient
from tests.ui.screens import wait_for
from ui.bridge.session import Session
from ui.windows.workbench import WorkbenchWindow

pytestmark = [
    pytest.mark.slow,
    # Qt's own offscreen plugin says so of every dialog.
    pytest.mark.qt_log_ignore("This plugin does not support", extend=True),
]
HOUSE = resources() / "houses" / "marlpit"
SPEED = 20.0
LIMIT_MS = 60_000


def plan_without(label):
    """The demo house's plan before a unit was written into its schedule, and that unit's line."""
    plan = read_plan(HOUSE)
    line = next(unit for unit in plan.units if unit.label == label)
    rest = tuple(unit for unit in plan.units if unit.label != label)
    visits = tuple(
        replace(
            visit,
            as_left={key: sheet for key, sheet in visit.as_left.items() if key != label},
            soaks=tuple(note for note in visit.soaks if note.unit != label),
        )
        for visit in plan.visits
    )
    return replace(plan, units=rest, visits=visits), line


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
            inventory, clock, Installer(stage, plan), address=address, key_source=new_key
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


def test_scan_place_review_sign_issue(qtbot, tmp_path):
    plan, missing = plan_without("U06")
    with workbench(plan, tmp_path) as window:
        session = window.session

        def click(button):
            assert button.isEnabled(), button.text()
            qtbot.mouseClick(button, Qt.MouseButton.LeftButton)

        click(window.house.scan)
        wait_for(lambda: any(r.serial == missing.serial for r in session.house.unplaced), LIMIT_MS)
        wait_for(lambda: session.snapshot.heard == len(plan.units) + 1, LIMIT_MS)

        window.open_place(missing.serial, missing.room)
        click(window.dialog.place)
        wait_for(lambda: missing.serial in session.house.units, LIMIT_MS)
        assert session.house.units[missing.serial].line.room == missing.room

        window.open_review()
        review = window.dialog
        _decide_all(review)
        wait_for(lambda: len(review.table.ticked()) == review.table.rowCount(), LIMIT_MS)
        asked = len(session.house.changes)
        assert asked > 0
        click(review.apply)
        wait_for(lambda: "stand as asked" in review.said.text(), LIMIT_MS)
        wait_for(lambda: not session.house.changes, LIMIT_MS)
        review.close()

        window.open_room(missing.room)
        room = window.dialog
        for reason in room.checklist._reasons.values():
            reason.setText("accepted all the same, in a test")
        room.name.setText("A. Client (invented)")
        room.role.setText("client")
        click(room.sign)
        wait_for(lambda: session.house.rooms[missing.room].signed_by, LIMIT_MS)

        window.open_record()
        record = window.dialog
        click(record.issue)
        wait_for(lambda: "walkdown check" in record.said.text(), LIMIT_MS)
        record.close()
    assert all(part.ok for part in check(tmp_path / "record-1").parts)


def _decide_all(review):
    """Go back to the plan wherever somebody changed something on site."""
    for number in range(review.table.rowCount()):
        review.table.setCurrentCell(number, 0)
        if not review.table.current().waits:
            continue
        key = review.table.current().key
        review._decide_current()
        decide = review.findChildren(QDialog)[-1]
        decide.reason.setText("back to the plan, in a test")
        decide._decide(keep_found=False)
        wait_for(lambda key=key: key in review._decided, LIMIT_MS)
