"""Which unit is this: what it says, the sweep, labels."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPointF, Qt

from fleet.model.errors import InventoryError, LinkError
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import STRANGER, half_met, talkative
from tests.ui.meeting_hands import choose, click, done, go_on
from tests.ui.screens import serial_of, wait_for
from ui.presenters.house_rows import RowKind
from ui.presenters.meeting_rows import Step
from ui.widgets.said_pane import SaidPane
from ui.widgets.sheet_picker import PLACES, SheetPicker


@pytest.fixture
def visit():
    return FakeVisit(half_met())


def test_a_unit_says_everything_beside_its_view(window, visit, page, qtbot):
    serial = serial_of(visit.house, "U02")
    visit.change(live={**visit.snapshot().live, serial: talkative(serial)})
    choose(page, "U02")
    click(qtbot, page.steps[Step.SHOW])
    assert window.plan.title.text() == "U02, Living room"
    assert window.plan.plot.isVisible()
    wait_for(lambda: window.plan.said.lines().get("Humidity") == "46 %")
    more = replace(talkative(serial), reports=213, readings={"humidity": "47 %"})
    visit.change(live={**visit.snapshot().live, serial: more})
    wait_for(lambda: window.plan.said.lines()["Humidity"] == "47 %")
    assert "Humidity 47 %" in window.plan.said.accessibleDescription()


def test_a_unit_without_a_place_says_everything_too(window, page, qtbot):
    choose(page, STRANGER.serial)
    click(qtbot, page.steps[Step.SHOW])
    assert window.plan.title.text() == STRANGER.serial
    assert not window.plan.plot.isVisible()
    assert window.plan.said.lines()["Supply"] == "4.96 V"
    assert window.house.tree.currentItem() is None
    window.house.tree.choose(RowKind.UNIT, serial_of(window.session.house, "U02"))
    assert window.plan.plot.isVisible()


def test_another_unit_forgets_what_the_one_before_reported(qtbot):
    pane = SaidPane()
    qtbot.addWidget(pane)
    pane.set_live(talkative("AP1"))
    assert "Humidity" in pane.lines()
    pane.show_reading(STRANGER)
    assert "Humidity" not in pane.lines()


@pytest.fixture
def sweep(window, page, qtbot):
    tones = []
    window.sweep.tone = lambda: tones.append(1)
    click(qtbot, page.sweep)
    wait_for(window.plan.band.there.isEnabled)
    return tones


def end_sweep(window, visit):
    visit.stopped.append(9)
    window.session.run(go_on)
    wait_for(window.plan.band.close_it.isVisible)


def test_a_sweep_points_out_each_unit_with_a_tone(window, visit, sweep, qtbot):
    band, serials = window.plan.band, list(visit.house.units)
    assert band.unit.text() == "U01, Hall"
    assert window.plan.canvas._pointed == serials[0]
    assert window.plan.title.text() == "Ground floor"
    assert window.house.tree.currentItem().text(0).startswith("U01")
    assert band.there.hasFocus()
    click(qtbot, band.there)
    assert band.said.text().startswith("U01: found it")
    wait_for(lambda: done(visit, "say_seen"))
    assert done(visit, "say_seen") == [("say_seen", serials[0], True, "Test installer")]
    window.session.run(go_on)
    wait_for(lambda: band.unit.text() == "U02, Living room")
    assert len(sweep) == 2
    end_sweep(window, visit)
    assert band.said.text() == "1 unit found; nothing said of U02."
    assert window.plan.canvas._pointed == ""
    click(qtbot, band.close_it)
    assert not band.isVisible()


def test_a_unit_that_is_elsewhere_is_placed(window, visit, sweep, qtbot):
    click(qtbot, window.plan.band.other)
    assert window.dialog.room.currentData() == "hall"
    assert "isn't where the plan says" in window.plan.band.said.text()
    serial = serial_of(visit.house, "U01")
    wait_for(lambda: done(visit, "say_seen") == [("say_seen", serial, False, "Test installer")])
    window.dialog.close()
    end_sweep(window, visit)
    assert "not where the plan says: U01" in window.plan.band.said.text()


def test_what_cannot_be_written_down_says_so(window, visit, sweep, qtbot):
    async def fail(serial, *, where_planned, by):
        raise InventoryError("another program holds it.")

    visit.say_seen = fail
    click(qtbot, window.plan.band.there)
    wait_for(lambda: "Not written down" in window.plan.band.said.text())
    assert window.plan.band.there.isEnabled()


def test_a_sweep_is_stopped(window, visit, sweep, qtbot):
    window.sweep.start()
    assert len(done(visit, "sweep")) == 1
    wait_for(lambda: window.session.snapshot.operations)
    click(qtbot, window.plan.band.stop)
    wait_for(lambda: visit.stopped == [9])
    window.session.run(go_on)
    wait_for(window.plan.band.close_it.isVisible)


def test_a_sweep_that_fails_says_so(window, visit, page):
    async def fail(seconds_each):
        raise LinkError("no unit was met yet.")

    visit.sweep = fail
    page.sweep.click()
    wait_for(lambda: "no unit was met yet" in window.plan.band.said.text())


def test_another_site_ends_what_the_window_shows_of_a_sweep(window, visit, sweep):
    other = FakeVisit()

    async def make():
        return other

    window.session.open(make)
    wait_for(lambda: window.session.house is other.house)
    assert not window.plan.band.isVisible()
    assert window.sweep._state is None


def test_labels_begin_where_the_sheet_is_free(window, visit, page, qtbot, tmp_path):
    click(qtbot, page.labels)
    dialog = window.dialog
    assert dialog.count.text() == "14 labels on 1 sheet, from sticker 1 on."
    cell = dialog.sheet._cell(13).center()
    qtbot.mouseClick(dialog.sheet, Qt.MouseButton.LeftButton, pos=cell.toPoint())
    assert dialog.count.text() == "14 labels on 2 sheets, from sticker 13 on."
    click(qtbot, dialog.write)
    wait_for(lambda: dialog.said.text().startswith("14 labels written"))
    assert done(visit, "write_labels") == [("write_labels", tmp_path / "labels.pdf", 13)]


def test_labels_need_a_file_and_never_write_over_one(window, visit, page, qtbot, tmp_path):
    window.meeting.ask_labels()
    dialog = window.dialog
    dialog.path.clear()
    click(qtbot, dialog.write)
    assert "name the file" in dialog.trouble.text()
    (tmp_path / "there.pdf").touch()
    dialog.path.setText(str(tmp_path / "there.pdf"))
    click(qtbot, dialog.write)
    wait_for(lambda: "is there already" in dialog.trouble.text())


def test_the_sheet_is_walked_by_arrow_keys(qtbot):
    sheet = SheetPicker(3)
    qtbot.addWidget(sheet)
    sheet.show()
    for key, place in (
        (Qt.Key.Key_Left, 1),
        (Qt.Key.Key_Right, 2),
        (Qt.Key.Key_Down, 5),
        (Qt.Key.Key_Up, 2),
        (Qt.Key.Key_A, 2),
    ):
        qtbot.keyClick(sheet, key)
        assert sheet.start() == place
    sheet.choose(PLACES)
    assert "label 24 of 24; 23 are used up" in sheet.accessibleDescription()
    assert sheet.place_at(-5, QPointF(0, 0).y()) == 0
