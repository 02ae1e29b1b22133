"""Meeting units in the window, as a person does it: by mouse and by keyboard alone."""

import asyncio
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from fleet.model.errors import LinkError
from fleet.model.meeting import Diagnosis, Obstacle
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import BLOCKED, STRANGER, half_met
from tests.ui.meeting_hands import choose, click, done
from tests.ui.screens import open_window, wait_for
from ui.presenters.house_rows import RowKind
from ui.presenters.meeting_rows import Filter, Step
from ui.widgets.diagnosis_box import DiagnosisBox
from ui.widgets.meeting_list import LEAST_HEIGHT_PX


@pytest.fixture
def visit():
    return FakeVisit(half_met())


def test_a_scan_turns_to_the_tab_and_says_how_many_were_met(window, visit, qtbot):
    click(qtbot, window.house.scan)
    assert window.plan.tabs.currentWidget() is window.plan.meeting
    assert window.plan.title.text() == "Meet units"
    assert window.plan.note.text().startswith("8 of 14 units met")
    wait_for(lambda: window.foot.said() == "14 units met.")
    assert not window.plan.meet.diagnosis.isVisible()


def test_where_nobody_is_met_the_tab_says_why(window, visit, qtbot):
    visit.met = 0
    click(qtbot, window.house.scan)
    assert not window.plan.meet.scan.isEnabled()
    box = window.plan.meet.diagnosis
    wait_for(box.isVisible)
    assert box.cause.text() == "The network doesn't pass multicast on."
    assert "12 addresses" in box.reason.text()
    assert box.next_step.isVisible()
    assert not box.tried.isVisible()
    qtbot.mouseClick(box.unfold, Qt.MouseButton.LeftButton)
    assert box.tried.isVisible()
    assert len(box.tried.text().splitlines()) == 4
    click(qtbot, box.close_it)
    assert not box.isVisible()
    box.show()
    visit.met = None
    click(qtbot, window.plan.meet.scan)
    assert not box.isVisible()
    wait_for(window.plan.meet.scan.isEnabled)


def test_a_diagnosis_that_finds_no_obstacle_looks_well(qtbot):
    box = DiagnosisBox()
    qtbot.addWidget(box)
    box.show_diagnosis(Diagnosis(Obstacle.NONE, "14 units are heard.", "", ()))
    assert box.glyph.accessibleName() == "shown"
    assert box.next_step.isHidden()
    assert box.unfold.isHidden()


def test_a_second_scan_waits_for_the_first(window, visit):
    window.meeting.scan()
    window.meeting.scan()
    wait_for(window.plan.meet.scan.isEnabled)
    assert len(done(visit, "scan")) == 1


def test_a_scan_that_fails_says_so_and_may_be_tried_again(window, visit, page):
    async def fail(seconds):
        raise LinkError("it can't be listened on.", subject="lan0")

    visit.scan = fail
    window.meeting.scan()
    wait_for(lambda: "lan0: it can't be listened on." in window.foot.said())
    assert page.scan.isEnabled()


def test_another_interface_is_listened_on_and_scanned_at_once(window, visit, page, qtbot):
    assert page.interface.currentText() == "lo · 127.0.0.1 · this machine alone"
    page.interface.setCurrentIndex(1)
    page.interface.activated.emit(1)
    wait_for(lambda: done(visit, "scan"))
    assert done(visit, "listen_on") == [("listen_on", "192.0.2.17")]


def test_an_interface_that_refuses_leaves_the_choice_as_it_was(window, visit, page):
    page.interface.setItemData(1, "::1")
    page.interface.setCurrentIndex(1)
    page.interface.activated.emit(1)
    wait_for(lambda: page.interface.currentIndex() == 3)
    assert "can't be listened on" in window.foot.said()


def test_a_choice_of_another_room_leaves_the_tab_and_news_of_the_house_does_not(
    window, visit, page
):
    visit.change(replace(visit.house))
    wait_for(lambda: window.session.house is visit.house)
    assert window.plan.tabs.currentWidget() is window.plan.meeting
    window.house.tree.choose(RowKind.ROOM, "office")
    assert window.plan.title.text() == "Office"


def test_filters_by_keyboard(window, page, qtbot):
    qtbot.keyClick(page.filters[Filter.MISSING], Qt.Key.Key_Space)
    assert [row.head for row in page.list._rows] == ["U09", "U14"]
    assert page.filters[Filter.MISSING].accessibleName() == "Show: Missing 2"


def test_a_filter_that_leaves_nothing_says_so(window, visit, page):
    visit.change(replace(visit.house, expected=visit.house.expected[:1], locked=()))
    wait_for(lambda: page.filters[Filter.ALL].text() == "All 1")
    page.filters[Filter.MISSING].click()
    assert page.empty.text().startswith("Nothing is missing")
    assert not page.list.isVisible()
    assert page.list.current() is None


def test_what_is_chosen_stays_when_the_house_changes(window, visit, page):
    choose(page, "U05")
    visit.change(replace(visit.house, expected=visit.house.expected[1:]))
    wait_for(lambda: page.filters[Filter.ALL].text() == "All 15")
    assert page.list.current().head == "U05"


def test_rows_and_buttons_are_as_high_as_a_thumb_is_wide(window, page):
    choose(page, "U01")
    heights = {page.list.sizeHintForRow(n) for n in range(page.list.count())}
    shown = [b for b in (*page.steps.values(), page.scan, page.sweep) if b.isVisible()]
    assert min(heights) >= LEAST_HEIGHT_PX
    assert min(button.height() for button in shown) >= LEAST_HEIGHT_PX - 2


def test_only_what_can_be_done_is_there_to_press(page):
    choose(page, "U05")
    assert [step for step, one in page.steps.items() if one.isVisible()] == [Step.UNLOCK]
    assert page.steps[Step.UNLOCK].accessibleName() == "Password: U05"
    choose(page, "U02")
    assert [step for step, one in page.steps.items() if one.isVisible()] == [
        Step.PLACE,
        Step.BLINK,
        Step.SHOW,
    ]


def test_enter_does_the_likeliest_step(window, page, qtbot):
    choose(page, STRANGER.serial)
    page.list.setFocus()
    qtbot.keyClick(page.list, Qt.Key.Key_Return)
    assert type(window.dialog).__name__ == "PlaceDialog"


def test_a_unit_that_was_met_is_offered_its_own_room(window, page, qtbot):
    choose(page, "U06")
    click(qtbot, page.steps[Step.PLACE])
    assert window.dialog.room.currentData() == "office"


def test_a_unit_blinks_from_its_row(window, visit, page, qtbot):
    row = choose(page, "U02")
    click(qtbot, page.steps[Step.BLINK])
    wait_for(lambda: window.foot.said() == "U02 shows itself now.")
    assert done(visit, "identify")[0][1] == row.serial


def test_a_unit_that_cannot_blink_says_so(window, visit, page, qtbot):
    async def fail(serial, seconds):
        raise LinkError("it didn't answer.", subject=serial)

    visit.identify = fail
    choose(page, "U02")
    click(qtbot, page.steps[Step.BLINK])
    wait_for(lambda: "it didn't answer" in window.foot.said())


def test_a_pasted_list_is_met_line_by_line(window, visit, page, qtbot):
    click(qtbot, page.addresses)
    dialog = window.dialog
    click(qtbot, dialog.meet)
    assert "no address stands there" in dialog.trouble.text()
    dialog.text.setPlainText("http://192.0.2.18/td\n192.0.2.19")
    click(qtbot, dialog.meet)
    wait_for(dialog.results.isVisible)
    assert dialog.said.text() == "1 of 2 addresses led to a unit."
    assert [dialog.results.item(n).text() for n in range(2)] == [
        "http://192.0.2.18/td: AP99-QQ111 was met.",
        "192.0.2.19: nothing answers there. Check the address.",
    ]
    assert not dialog.trouble.isVisible()


def test_a_list_that_is_refused_as_a_whole_says_so(window, visit, page):
    async def fail(text):
        raise LinkError("this machine is on no network.")

    visit.add_addresses = fail
    window.meeting.ask_addresses()
    window.dialog.text.setPlainText("192.0.2.19")
    window.dialog.meet.click()
    wait_for(lambda: "on no network" in window.dialog.trouble.text())
    assert window.dialog.meet.isEnabled()


def test_a_window_that_is_closed_while_a_scan_runs_ends_it(qapp, tmp_path):
    visit = FakeVisit(half_met())

    async def never_ending(seconds):
        await asyncio.Event().wait()

    visit.scan = never_ending
    with open_window(visit, records=tmp_path) as window:
        window.start_scan()
        assert not window.plan.meet.scan.isEnabled()
    assert visit.ended


def test_no_tab_asks_for_more_height_than_a_small_laptop_has(window, page):
    page.show_diagnosis(BLOCKED)
    page.diagnosis.unfold.click()
    window.plan.band.show_end("1 unit found.")
    assert window.minimumSizeHint().height() <= 768
    assert window.minimumSizeHint().width() <= 1366
