"""Two sites of one inventory in the window, on the real engine."""

import pytest

from fleet.cli.starting import real_start
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory
from tests.campaigns import house_of
from tests.features.real_window import HOUSE, LIMIT_MS
from tests.inventories import CountingClock
from tests.ui.meeting_hands import click, closed
from tests.ui.screens import wait_for
from ui.bridge.passphrase import Passphrase
from ui.windows.opening import make_window

pytestmark = [
    pytest.mark.slow,
    # Qt's own offscreen plugin says so of every dialog.
    pytest.mark.qt_log_ignore("This plugin does not support", extend=True),
]


def test_the_window_goes_on_at_another_site_and_stays_there_the_next_time(qtbot, tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(house_of(3)[0])
        inventory.add_site(read_plan(HOUSE))
        inventory.choose_site("3 Rooms")
    for chosen in ("3 Rooms", "Marlpit House"):
        passphrase = Passphrase()
        window = make_window(real_start(tmp_path, passphrase.ask), passphrase)
        window.show()
        wait_for(lambda window=window: window.session.house is not None, LIMIT_MS)
        assert window.session.house.plan.site.name == chosen
        if chosen == "3 Rooms":
            _go_on_at(window, "Marlpit House", qtbot)
        window.close()


def _go_on_at(window, name, qtbot):
    window.open_start()
    dialog = window.dialog
    wait_for(dialog.sites.isVisible, LIMIT_MS)
    rows = [dialog.sites.item(row).text() for row in range(dialog.sites.count())]
    assert rows == ["3 Rooms, open now", "Marlpit House"]
    dialog.sites.setCurrentRow(rows.index(name))
    click(qtbot, dialog.go_on)
    wait_for(lambda: closed(dialog), LIMIT_MS)
    wait_for(lambda: window.session.house.plan.site.name == name, LIMIT_MS)
    assert len(window.session.house.units) == 14
