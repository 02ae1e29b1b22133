from dataclasses import replace

from PySide6.QtCore import QMimeData, Qt

from fleet.model.findings import Outcome
from tests.ui.fake_visit import NO_SITE, FakeVisit
from tests.ui.invented import DOUBT, STRANGER, house_of
from tests.ui.screens import no_way, open_window, serial_of, wait_for
from ui.presenters.house_rows import RowKind
from ui.widgets.house_tree import SERIAL_MIME
from ui.windows.dialog_parts import TroubleLine


def done(visit, what):
    return [entry for entry in visit.done if entry[0] == what]


def click(qtbot, button):
    assert button.isEnabled(), button.text()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def test_head_says_site_demo_and_clock(window):
    wait_for(lambda: window.head.site.text() == "Marlpit House")
    assert window.head.note.text() == "demo, invented house · clock × 20"


def test_choosing_a_room_a_floor_a_unit_turns_the_plan(window, visit):
    window.house.tree.choose(RowKind.ROOM, "office")
    assert window.plan.title.text() == "Office"
    window.house.tree.choose(RowKind.FLOOR, "first")
    assert window.plan.title.text() == "First floor"
    window.house.tree.choose(RowKind.UNIT, serial_of(visit.house, "U02"))
    assert window.plan.title.text() == "U02, Living room"
    assert window.plan.tabs.currentWidget() is window.plan.own


def test_a_scan_says_how_many_were_met(window, visit, qtbot):
    click(qtbot, window.house.scan)
    wait_for(lambda: window.foot.said() == "14 units met.")


def test_go_to_box_by_keyboard(window, qtbot):
    window.activateWindow()
    qtbot.keyClick(window, Qt.Key.Key_G, Qt.KeyboardModifier.ControlModifier)
    wait_for(window.head.go_to.hasFocus)
    qtbot.keyClicks(window.head.go_to, "garage")
    qtbot.keyClick(window.head.go_to, Qt.Key.Key_Return)
    assert window.plan.title.text() == "Garage"
    qtbot.keyClicks(window.head.go_to, "attic")
    qtbot.keyClick(window.head.go_to, Qt.Key.Key_Return)
    assert window.foot.said() == "Nothing here is called “attic”."


def test_go_to_a_job_turns_the_plan_to_it(window, qtbot):
    window.head.go_to.setText("U05 build behind")
    qtbot.keyClick(window.head.go_to, Qt.Key.Key_Return)
    assert window.plan.title.text() == "Kitchen-diner"


def test_a_unit_is_placed_without_a_mouse(window, visit, qtbot):
    qtbot.keyClick(window.house.heard, Qt.Key.Key_Return)
    dialog = window.dialog
    assert "AP99-QQ111 · static" in {
        label.text() for label in dialog.findChildren(type(window.plan.title))
    }
    dialog.room.setCurrentIndex(dialog.room.findData("garage"))
    click(qtbot, dialog.place)
    wait_for(lambda: not visit.house.unplaced)
    assert done(visit, "place") == [("place", STRANGER.serial, "garage", None, None)]


def test_a_unit_dropped_on_a_room_is_offered_there(window, visit):
    data = QMimeData()
    data.setData(SERIAL_MIME, STRANGER.serial.encode())
    tree = window.house.tree
    office = next(i for i in tree._all() if tree._key_of(i) == (RowKind.ROOM, "office"))
    assert tree.dropMimeData(office, 0, data, Qt.DropAction.CopyAction)
    assert window.dialog.room.currentData() == "office"
    assert not tree.dropMimeData(None, 0, data, Qt.DropAction.CopyAction)
    assert tree.mimeTypes() == [SERIAL_MIME]
    assert bytes(window.house.heard.mimeData([window.house.heard.item(0)]).data(SERIAL_MIME)) == (
        STRANGER.serial.encode()
    )


def test_a_unit_dropped_on_the_plan_is_offered_at_that_point(window, visit, qtbot):
    window.plan.canvas.unit_dropped.emit(STRANGER.serial, "office", 1200, 300)
    click(qtbot, window.dialog.blink)
    wait_for(lambda: done(visit, "identify"))
    click(qtbot, window.dialog.place)
    wait_for(lambda: done(visit, "place"))
    assert done(visit, "place")[0][2:] == ("office", 1200, 300)


def test_placing_nothing_says_what_to_do(window):
    window.open_place("")
    assert "Choose a unit" in window.foot.said()


def test_review_decide_apply_and_read_back(window, visit, qtbot):
    window.open_review()
    dialog = window.dialog
    assert [change.label for change in dialog.table.ticked()] == ["U04"]
    assert dialog.decide.isEnabled()
    dialog.table.setCurrentCell(0, 0)
    click(qtbot, dialog.decide)
    decide = dialog.findChildren(type(dialog).__mro__[1])[-1]
    decide._decide(keep_found=False)
    assert "write down why" in decide.trouble.text()
    decide.reason.setText("back to what was agreed")
    decide._decide(keep_found=False)
    wait_for(lambda: len(dialog.table.ticked()) == 2)
    click(qtbot, dialog.apply)
    wait_for(dialog.stop.isVisible)
    click(qtbot, dialog.stop)
    wait_for(lambda: visit.stopped == [7])
    window.session.run(_go_on)
    wait_for(lambda: "2 of 2 writes stand as asked" in dialog.said.text())
    wait_for(dialog.empty.isVisible)
    assert not dialog.apply.isEnabled()


async def _go_on(visit):
    visit.go_on.set()


def test_an_unticked_line_is_not_written(window, visit):
    window.open_review("U04")
    dialog = window.dialog
    dialog.table.item(0, 0).setCheckState(Qt.CheckState.Unchecked)
    assert not dialog.apply.isEnabled()
    visit.change(replace(visit.house))
    wait_for(lambda: window.session.house is visit.house)
    assert dialog.table.ticked() == ()


def test_apply_needs_a_name(window, visit, qtbot):
    window.open_review("U04")
    window.dialog.by.clear()
    click(qtbot, window.dialog.apply)
    assert "Nothing was sent" in window.dialog.trouble.text()
    assert not done(visit, "apply")


def test_a_room_is_ticked_excepted_and_signed(window, visit, qtbot):
    window.open_room("office")
    dialog = window.dialog
    click(qtbot, dialog.sign)
    assert "not signed" in dialog.trouble.text()
    dialog.checklist.tick_asked.emit("label-readable")
    wait_for(lambda: done(visit, "tick"))
    wait_for(lambda: "label-readable" not in dialog.checklist._reasons)
    for line in dialog.checklist._reasons.values():
        line.setText("agreed with the client")
    dialog.name.setText("A. Client")
    click(qtbot, dialog.sign)
    assert "role" in dialog.trouble.text()
    dialog.role.setText("client")
    click(qtbot, dialog.sign)
    wait_for(lambda: done(visit, "sign"))
    result = visit.house.rooms["office"]
    assert result.signed_by == "A. Client, client"
    assert any(item.outcome is Outcome.NOT_TESTED for item in result.items)


def test_the_record_is_issued_by_somebody_into_a_new_folder(window, visit, qtbot, tmp_path):
    click(qtbot, window.head.record)
    dialog = window.dialog
    assert dialog.folder.text() == str(tmp_path / "record-1")
    dialog.by.clear()
    click(qtbot, dialog.issue)
    assert "No record was issued" in dialog.trouble.text()
    dialog.by.setText("A. Installer")
    click(qtbot, dialog.issue)
    wait_for(lambda: "walkdown check" in dialog.said.text())
    (tmp_path / "record-1").mkdir()
    click(qtbot, dialog.issue)
    wait_for(lambda: "is taken" in dialog.trouble.text())


def test_lap_leads_from_room_to_room(window, visit, qtbot):
    click(qtbot, window.head.lap)
    dialog = window.dialog
    assert dialog.prompt.font().pointSize() >= 18
    assert "Go to Hall" in dialog.prompt.text()
    click(qtbot, dialog.go)
    wait_for(lambda: dialog.prompt.text() == "Walk to mark 1 of 5")
    window.session.run(_go_on)
    wait_for(lambda: "room 2 of 10" in dialog.room.text())
    click(qtbot, dialog.skip)
    assert "room 3 of 10" in dialog.room.text()
    click(qtbot, dialog.stop)
    wait_for(lambda: "1 room walked. 9 rooms not walked" in dialog.prompt.text())
    click(qtbot, dialog.stop)
    assert done(visit, "finish_lap")


def test_steps_in_doubt_are_said_at_the_start_and_settled(qtbot, qapp, tmp_path):
    visit = FakeVisit(replace(house_of(), doubtful=(DOUBT,)))
    with open_window(visit, records=tmp_path) as window:
        assert "120 s → 30 s" in window.dialog.said.text()
        click(qtbot, window.dialog.settle)
        wait_for(lambda: "not done. read back as before" in window.dialog.said.text())


def test_an_empty_window_offers_the_ways_to_begin(qtbot, qapp, tmp_path):
    with open_window(FakeVisit(NO_SITE), records=tmp_path, open_demo=no_way) as window:
        assert window.house.no_rooms.isVisible()
        start = window.dialog
        assert start.demo.isEnabled()
        assert not start.open_folder.isEnabled()
        start.plan_chosen.emit(tmp_path / "plan.json")
        wait_for(lambda: window.head.site.text() == "Marlpit House")


def test_another_site_is_opened_in_the_same_window(window, visit, tmp_path):
    other = FakeVisit(house_of(unplaced=()))

    async def make():
        return other

    window._open_folder = lambda _: (make, "")
    window.open_start()
    window.dialog.folder_chosen.emit(tmp_path)
    wait_for(lambda: window.session.house is other.house)
    assert visit.ended
    window.session._visit, other.ended = other, False


def test_another_site_of_the_inventory_is_gone_on_at(window, visit, qtbot):
    visit.all_sites = ("Marlpit House", "Osier Barn")
    there = FakeVisit(house_of(unplaced=()))

    async def make():
        return there

    window.session._make_visit = make
    window.open_start()
    dialog = window.dialog
    wait_for(dialog.sites.isVisible)
    dialog.sites.setCurrentRow(0)
    assert not dialog.go_on.isEnabled()  # that is where we are
    dialog.sites.setCurrentRow(1)
    click(qtbot, dialog.go_on)
    wait_for(lambda: window.session.house is there.house)
    assert visit.ended
    assert there.done[:2] == [("choose_site", "Osier Barn"), ("start",)]
    window.session._visit = visit


def test_one_site_alone_is_no_choice(window, visit):
    window.open_start()
    answers = []
    window.session.run(lambda visit: visit.sites()).done.connect(answers.append)
    wait_for(lambda: answers == [("Marlpit House",)])
    assert not window.dialog.sites.isVisible()


def test_jobs_of_a_room_or_of_the_whole_house(window):
    window.jobs.whole.setChecked(False)
    window.house.tree.choose(RowKind.ROOM, "kitchen-diner")
    assert {line.job.room for line in window.jobs.list._lines.values()} == {"kitchen-diner"}


def test_each_job_opens_what_it_asks_for(window, visit, qtbot):
    for group, kind in (("settings", "ReviewDialog"), ("sign-off", "RoomDialog")):
        job = next(j for j in visit.house.jobs if j.group == group)
        click(qtbot, window.jobs.list._lines[job.key].button)
        assert type(window.dialog).__name__ == kind
        window.dialog.close()
    build = next(j for j in visit.house.jobs if j.group == "builds")
    click(qtbot, window.jobs.list._lines[build.key].button)
    assert window.plan.title.text() == "U05, Kitchen-diner"


def test_the_theme_changes_in_the_window(window, qtbot):
    click(qtbot, window.head.theme)
    assert window.head.theme.text() == "Light"
    click(qtbot, window.head.theme)
    assert window.head.theme.text() == "Dark"


def test_old_values_look_old(window, visit):
    serial = list(visit.house.units)[-1]
    item, _ = window.house.tree._units[serial]
    wait_for(lambda: "quiet 12 s" in item.text(1))
    assert item.font(1).italic()


def test_trouble_is_hidden_while_all_is_well(qapp):
    line = TroubleLine()
    line.say("")
    assert line.isHidden()


def test_work_that_outlives_its_dialog_tells_its_error_in_the_foot(window, visit, tmp_path):
    window.open_record()
    dialog = window.dialog
    dialog.folder.setText(str(tmp_path))
    dialog.issue.click()  # a mouse's click runs the loop, and the error might come before the close
    dialog.close()
    window.dialog = None
    wait_for(lambda: "is taken" in window.foot.said())


def test_a_lap_closed_on_the_way_counts_what_was_walked(window, visit, qtbot):
    window.open_lap()
    dialog = window.dialog
    click(qtbot, dialog.go)
    window.session.run(_go_on)
    wait_for(lambda: "room 2 of 10" in dialog.room.text())
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    wait_for(lambda: done(visit, "finish_lap"))
    window.dialog = None


def test_a_chosen_unit_shows_what_it_says_at_once(window, visit):
    window.house.tree.choose(RowKind.UNIT, serial_of(visit.house, "U02"))
    assert window.plan.plot.dots() == 2
