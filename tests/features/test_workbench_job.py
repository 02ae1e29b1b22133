"""The whole job in the window, on the real engine with the simulated house beside it."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from fleet.engine.files import read_plan
from fleet.record.checking import check
from tests.features.real_window import HOUSE, LIMIT_MS, decide_all, workbench
from tests.ui.screens import wait_for

pytestmark = [
    pytest.mark.slow,
    # Qt's own offscreen plugin says so of every dialog.
    pytest.mark.qt_log_ignore("This plugin does not support", extend=True),
]


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
        decide_all(review, "back to the plan, in a test")
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
