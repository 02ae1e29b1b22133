"""Meeting units in the window, as a person does it: by mouse and by keyboard alone."""

import asyncio
import logging
from dataclasses import replace

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QLineEdit
from shiboken6 import isValid

from fleet.model.errors import LinkError
from fleet.model.meeting import Diagnosis, LockedUnit, Obstacle
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import CHANGED, SECURITY, STRANGER, half_met, house_of, talkative
from tests.ui.screens import open_window, serial_of, wait_for
from ui.presenters.house_rows import RowKind
from ui.presenters.meeting_rows import Filter, Step, meeting_rows
from ui.widgets.diagnosis_box import DiagnosisBox
from ui.widgets.meeting_list import LEAST_HEIGHT_PX
from ui.widgets.said_pane import SaidPane
from ui.widgets.sheet_picker import PLACES, SheetPicker
from ui.windows.certificate_dialog import CertificateDialog

TYPED = "mallow-4711"  # what a test types; it must turn up nowhere


@pytest.fixture
def visit():
    return FakeVisit(half_met())


@pytest.fixture
def page(window):
    window.plan.show_meeting()
    wait_for(lambda: window.plan.meet.interface.count() > 1)
    return window.plan.meet


def done(visit, what):
    return [entry for entry in visit.done if entry[0] == what]


def click(qtbot, button):
    assert button.isEnabled(), button.text()
    assert button.isVisible(), button.text()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def choose(page, head):
    row = [row for row in meeting_rows(page._house) if row.head == head][-1]
    page.list.choose(row.key)
    return row


def closed(dialog):
    return not isValid(dialog) or not dialog.isVisible()


async def _go_on(visit):
    visit.go_on.set()


# The tab


def test_a_scan_turns_to_the_tab_and_says_how_many_were_met(window, visit, qtbot):
    click(qtbot, window.house.scan)
    assert window.plan.tabs.currentWidget() is window.plan.meet
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
    assert window.plan.tabs.currentWidget() is page
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


# Addresses


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


# Passwords


def unlock(window, page, head):
    choose(page, head)
    page.steps[Step.UNLOCK].click()
    return window.dialog


def test_a_password_is_kept_for_one_unit_and_wiped(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U03")
    assert dialog.secret.echoMode() is QLineEdit.EchoMode.Password
    assert not dialog.kind.isVisible()
    qtbot.keyClicks(dialog.user, "fitter")
    qtbot.keyClicks(dialog.secret, TYPED)
    qtbot.keyClick(dialog.secret, Qt.Key.Key_Return)
    assert dialog.secret.text() == ""
    wait_for(lambda: closed(dialog))
    kept = visit.secrets["urn:u03"]
    assert (kept.user, kept.secret) == ("fitter", TYPED)
    assert done(visit, "keep_secret") == [("keep_secret", "urn:u03")]


def test_a_refused_password_is_tried_nowhere_else(window, visit, page, qtbot, caplog):
    caplog.set_level(logging.DEBUG)
    dialog = unlock(window, page, "U03")
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    assert dialog.shared.isVisible()
    click(qtbot, dialog.keep)
    wait_for(lambda: "refused" in dialog.trouble.text())
    assert done(visit, "keep_secret") == [("keep_secret", "urn:u03")]
    assert dialog.secret.text() == ""
    assert dialog.keep.isEnabled()
    assert TYPED not in dialog.trouble.text() + window.foot.said() + caplog.text
    assert TYPED not in repr(visit.secrets)


def test_the_same_password_goes_elsewhere_only_by_a_tick(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U03")
    assert not dialog.same.isChecked()
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    click(qtbot, dialog.keep)
    wait_for(lambda: closed(dialog))
    assert set(visit.secrets) == {"urn:u03", "urn:u05"}


def test_who_refuses_it_elsewhere_is_named(window, visit, page, qtbot):
    async def keep(key, secret):
        visit.done.append(("keep_secret", key))
        if key == "urn:u03":
            locked = tuple(unit for unit in visit.house.locked if unit.key != key)
            visit.change(replace(visit.house, locked=locked))

    visit.keep_secret = keep
    dialog = unlock(window, page, "U03")
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    click(qtbot, dialog.keep)
    wait_for(lambda: dialog.said.text() == "1 unit let us in. Refused by Unit U05.")
    assert not dialog.keep.isEnabled()


def test_a_token_asks_for_no_user(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U05")
    dialog.kind.setCurrentIndex(1)
    assert not dialog.user.isVisible()
    assert dialog.secret.accessibleName() == "Token"
    click(qtbot, dialog.keep)
    assert "token is missing" in dialog.trouble.text()
    dialog.secret.setText(TYPED)
    click(qtbot, dialog.keep)
    wait_for(lambda: "urn:u05" in visit.secrets)
    assert visit.secrets["urn:u05"].user == ""


def test_a_secret_that_was_refused_can_be_forgotten(window, visit, page, qtbot):
    assert not unlock(window, page, "U03").forget.isVisible()
    window.dialog.close()
    dialog = unlock(window, page, "U05")
    click(qtbot, dialog.forget)
    wait_for(lambda: "is forgotten" in dialog.said.text())
    assert done(visit, "forget_secret") == [("forget_secret", "urn:u05")]
    assert not dialog.forget.isVisible()


def test_a_unit_with_nobody_else_locked_offers_no_tick(window, visit, page):
    alone = LockedUnit("urn:u03", visit.house.locked[0].address, "", ("basic",))
    visit.change(replace(visit.house, locked=(alone,)))
    wait_for(lambda: window.session.house is visit.house)
    assert not unlock(window, page, "U03").same.isVisible()


# Certificates, doubles, notices


def test_a_changed_certificate_is_shouted_and_accepted_with_a_reason_and_a_name(
    window, visit, qtbot
):
    wait_for(window.shout.isVisible)
    assert "THIS MAY BE ANOTHER UNIT" in window.shout.words.text()
    assert CHANGED not in window.foot.said()
    click(qtbot, window.shout.look)
    dialog = window.dialog
    click(qtbot, dialog.accept_it)
    assert "write down why" in dialog.trouble.text()
    dialog.reason.setText("exchanged on 24 Nov, figures compared at its label")
    click(qtbot, dialog.accept_it)
    wait_for(lambda: not window.shout.isVisible())
    _, key, by, reason = done(visit, "accept_certificate")[0]
    assert (key, by) == ("https://192.0.2.77:8443", "Test installer")
    assert reason.startswith("exchanged")


def test_a_certificate_is_looked_at_from_its_row_too(window, page, qtbot):
    choose(page, "U07")
    click(qtbot, page.steps[Step.CERTIFICATE])
    assert isinstance(window.dialog, CertificateDialog)
    assert window.dialog.leave.isDefault()


def test_a_certificate_that_is_refused_again_says_so(window, visit):
    async def fail(key, *, by, reason):
        raise LinkError("no changed certificate was shown there.", subject=key)

    visit.accept_certificate = fail
    window.shout.look.click()
    window.dialog.reason.setText("because")
    window.dialog.accept_it.click()
    wait_for(lambda: "no changed certificate" in window.dialog.trouble.text())


def test_a_certificate_without_a_key_cannot_be_accepted_here(qtbot, window):
    dialog = CertificateDialog(window.session, "", CHANGED)
    qtbot.addWidget(dialog)
    assert not dialog.accept_it.isEnabled()


def test_a_double_is_settled_by_address(window, visit, page, qtbot):
    serial = serial_of(visit.house, "U01")
    choose(page, serial)
    click(qtbot, page.steps[Step.SETTLE])
    dialog = window.dialog
    assert not dialog.use.isEnabled()
    click(qtbot, dialog.blink)
    wait_for(lambda: "shows itself now" in dialog.said.text())
    dialog.choices.button(1).click()
    click(qtbot, dialog.use)
    wait_for(lambda: done(visit, "settle_double"))
    assert done(visit, "settle_double")[0][1:3] == (serial, "http://192.0.2.201:8080/td")


def test_keeping_the_one_in_use_changes_nothing(window, visit, page, qtbot):
    choose(page, serial_of(visit.house, "U01"))
    page.steps[Step.SETTLE].click()
    window.dialog.choices.button(0).click()
    window.dialog.use.click()
    assert not done(visit, "settle_double")


def test_a_double_that_cannot_be_settled_says_so(window, visit, page):
    async def fail(serial, address, *, by):
        raise LinkError("it can't be read now.", subject=address)

    visit.settle_double = fail
    choose(page, serial_of(visit.house, "U01"))
    page.steps[Step.SETTLE].click()
    window.dialog.choices.button(1).click()
    window.dialog.use.click()
    wait_for(lambda: "can't be read now" in window.dialog.trouble.text())
    assert window.dialog.use.isEnabled()


def test_security_stands_quietly_at_the_foot(window, visit, qtbot):
    assert window.foot.security.text() == "3 security notes"
    click(qtbot, window.foot.security)
    assert SECURITY[0] in [
        label.text() for label in window.dialog.findChildren(type(window.plan.title))
    ]
    click(qtbot, window.dialog.close_it)
    click(qtbot, window.foot.troubles)
    assert window.dialog.windowTitle() == "What went wrong"
    window.dialog.close()
    visit.change(house_of())
    wait_for(lambda: not window.foot.security.isVisible())
    assert not window.foot.troubles.isVisible()


def test_a_trouble_that_is_no_certificate_is_said_at_the_foot(window, visit):
    visit.change(replace(visit.house, troubles=(CHANGED, "U09: it stopped answering.")))
    wait_for(lambda: window.foot.said() == "◆ U09: it stopped answering.")


# What a unit says


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


# The sweep


@pytest.fixture
def sweep(window, page, qtbot):
    tones = []
    window.sweep.tone = lambda: tones.append(1)
    click(qtbot, page.sweep)
    wait_for(window.plan.band.there.isEnabled)
    return tones


def end_sweep(window, visit):
    visit.stopped.append(9)
    window.session.run(_go_on)
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
    window.session.run(_go_on)
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
    window.dialog.close()
    end_sweep(window, visit)
    assert "not where the plan says: U01" in window.plan.band.said.text()


def test_a_sweep_is_stopped(window, visit, sweep, qtbot):
    window.sweep.start()
    assert len(done(visit, "sweep")) == 1
    wait_for(lambda: window.session.snapshot.operations)
    click(qtbot, window.plan.band.stop)
    wait_for(lambda: visit.stopped == [9])
    window.session.run(_go_on)
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


# Labels


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


# Ending


def test_a_window_that_is_closed_while_a_scan_runs_ends_it(qapp, tmp_path):
    visit = FakeVisit(half_met())

    async def never_ending(seconds):
        await asyncio.Event().wait()

    visit.scan = never_ending
    with open_window(visit, records=tmp_path) as window:
        window.start_scan()
        assert not window.plan.meet.scan.isEnabled()
    assert visit.ended
