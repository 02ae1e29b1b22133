"""Every screen of the workbench, one after another, filled with the invented house."""

import contextlib
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEventLoop, QTimer

from fleet.model.snapshot import OperationView
from tests.ui.fake_visit import NO_SITE, FakeVisit
from tests.ui.invented import DOUBT, STRANGER, house_of
from ui.bridge.session import Session
from ui.presenters.house_rows import RowKind
from ui.windows.decide_dialog import DecideDialog
from ui.windows.workbench import WorkbenchWindow

SIZE = (1440, 900)
RUNNING = 5000


def wait_for(condition, limit_ms=RUNNING):
    """Run the window's loop until a condition holds."""
    loop, poll, limit = QEventLoop(), QTimer(), QTimer()
    poll.setInterval(5)
    poll.timeout.connect(lambda: condition() and loop.quit())
    limit.setSingleShot(True)
    limit.timeout.connect(loop.quit)
    poll.start()
    limit.start(limit_ms)
    loop.exec()
    poll.stop()
    limit.stop()
    if not condition():
        raise AssertionError("it never came about")


@contextlib.contextmanager
def open_window(visit=None, theme="light", records=Path("records"), **more):
    """A window on a fake visit, shown and filled; closed and gone afterwards."""
    visit = visit or FakeVisit()
    session = Session("Test installer")
    window = WorkbenchWindow(session, theme=theme, records=records, **more)
    window.resize(*SIZE)
    window.show()

    async def make_visit():
        return visit

    session.open(make_visit)
    wait_for(lambda: session.snapshot is not None)
    try:
        yield window
    finally:
        if window.dialog is not None:
            with contextlib.suppress(RuntimeError):
                window.dialog.close()
        window.close()
        window.deleteLater()
        QCoreApplication.sendPostedEvents()
        QCoreApplication.processEvents()


def screens(theme):
    """Yield name and widget of each screen, shown."""
    house = house_of()
    running = FakeVisit(house, (OperationView(7, "Apply", 600_000, "U04 areas", can_stop=True),))
    with open_window(running, theme) as window:
        window.house.tree.choose(RowKind.ROOM, "living-room")
        yield "workbench-room", window
        window.house.tree.choose(RowKind.FLOOR, "ground")
        yield "workbench-floor", window
        window.house.tree.choose(RowKind.UNIT, serial_of(house, "U02"))
        yield "workbench-unit", window
        window.plan.tabs.setCurrentIndex(2)
        yield "workbench-all-units", window
        yield from _dialogs(window, house)
    with open_window(FakeVisit(NO_SITE), theme, open_demo=no_way, open_folder=no_way) as window:
        yield "workbench-empty", window
        yield "start", window.dialog
    with open_window(FakeVisit(replace(house, doubtful=(DOUBT,))), theme) as window:
        yield "in-doubt", window.dialog


def no_way(*_):
    """Stands where the window could open another visit."""
    raise AssertionError("nobody asked for it")


def serial_of(house, label):
    """The serial of a unit by its label."""
    return next(serial for serial, unit in house.units.items() if unit.line.label == label)


def _dialogs(window, house):
    window.open_place(STRANGER.serial)
    yield "place", window.dialog
    window.dialog.close()
    window.open_review()
    yield "review", window.dialog
    change = next(c for c in house.changes if c.label == "U03")
    decide = DecideDialog(window.session, change, "Test installer", window)
    decide.show()
    yield "decide", decide
    decide.close()
    window.dialog.close()
    window.open_room("bedroom-1")
    yield "checklist", window.dialog
    window.dialog.close()
    window.open_record()
    yield "record", window.dialog
    window.dialog.close()
    window.open_lap()
    yield "lap", window.dialog
    window.dialog.close()
