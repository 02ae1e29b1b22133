"""A window for each test, and what may be said by Qt without a screen."""

import pytest
from PySide6.QtCore import QThread, QTimer

from tests.ui.fake_visit import FakeVisit
from tests.ui.screens import open_window, wait_for

OFFSCREEN_SAYS = "This plugin does not support (propagateSizeHints|raise|grabbing the keyboard)"


def pytest_collection_modifyitems(items):
    """Qt's own offscreen plugin says so of every dialog; it is no fault of ours."""
    for item in items:
        if "tests/ui" in str(item.path):
            item.add_marker(pytest.mark.qt_log_ignore(OFFSCREEN_SAYS, extend=True))


@pytest.fixture
def visit():
    return FakeVisit()


@pytest.fixture
def window(qapp, visit, tmp_path):
    """A window on the fake visit; afterwards no timer of it may run and no thread of it be there."""
    with open_window(visit, records=tmp_path) as made:
        yield made
    assert visit.ended
    assert not made.session.feed.findChild(QTimer).isActive()
    assert QThread.currentThread() is qapp.thread()


@pytest.fixture
def page(window):
    """The tab on which units are met, in front and filled."""
    window.plan.show_meeting()
    wait_for(lambda: window.plan.meet.interface.count() > 1)
    return window.plan.meet
