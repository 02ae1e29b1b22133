"""Restoring, swapping, asking where from; and the review's dry run, other values and partial writes."""

from dataclasses import replace

import pytest

from fleet.engine.settling import Remedy
from fleet.model.errors import InventoryError, LinkError
from fleet.model.meeting import Expected, Meeting
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import STRANGER, house_of
from tests.ui.invented_updates import ORIGINS, partly_done
from tests.ui.meeting_hands import click, closed, done, go_on
from tests.ui.screens import serial_of, wait_for
from ui.presenters.partly_rows import partly_jobs
from ui.presenters.swap_rows import swap_jobs
from ui.windows.decide_dialog import DecideDialog
from ui.windows.partly_dialog import PartlyDialog
from ui.windows.review_dialog import ReviewDialog


@pytest.fixture
def bar(window, visit):
    """The buttons of U03, which is shown."""
    window.open_unit(serial_of(visit.house, "U03"))
    return window.plan.bar


@pytest.fixture
def partly(qapp):
    return FakeVisit(partly_done(house_of()))


def restoring(window, bar, qtbot, row):
    click(qtbot, bar.restore)
    dialog = window.dialog
    wait_for(lambda: dialog.sheets.count() == 3)
    dialog.sheets.setCurrentRow(row)
    wait_for(lambda: not dialog.said.isVisible())
    return dialog


def decide(window, visit, label="U03"):
    change = next(c for c in visit.house.changes if c.label == label)
    dialog = DecideDialog(window.session, change, "Test installer", window)
    dialog.show()
    return dialog


def test_a_unit_of_the_schedule_has_its_buttons_and_a_stranger_has_none(window, visit, bar):
    assert bar.isVisible()
    window.open_unit(STRANGER.serial)
    assert not bar.isVisible()


def test_where_from_shows_each_value_with_its_level(window, visit, bar, qtbot):
    click(qtbot, bar.origins)
    table = window.dialog.table
    wait_for(lambda: table.rowCount() == len(ORIGINS))
    assert table.item(1, 3).text().startswith("unit U03, decided by A. Fitter")
    assert "45 s" in table.item(1, 5).text()
    assert done(visit, "where_from") == [("where_from", serial_of(visit.house, "U03"))]


def test_where_from_that_cannot_be_told_says_so(window, visit, bar, qtbot):
    async def fail(serial):
        raise InventoryError("it can't be opened.")

    visit.where_from = fail
    click(qtbot, bar.origins)
    wait_for(lambda: "can't be opened" in window.dialog.trouble.text())


def test_a_kept_sheet_is_restored_by_the_review(window, visit, bar, qtbot):
    dialog = restoring(window, bar, qtbot, 2)
    wait_for(dialog.review.isEnabled)
    assert "Hold time: 120 s now, 15 s afterwards." in dialog.pane.texts()["Would be written"]
    click(qtbot, dialog.review)
    review = window.dialog
    assert isinstance(review, ReviewDialog)
    assert [change.key for change in review.table.ticked()] == ["setting.hold_time_s"]
    click(qtbot, review.apply)
    wait_for(lambda: done(visit, "apply"))
    why = "restored to 09 May 2026 09:30 UTC · as found, sheet-3"
    assert done(visit, "apply")[0][2:] == ("Test installer", why)
    window.session.run(go_on)
    wait_for(review.results.isVisible)
    assert review.table.ticked() == ()
    assert review.empty.text() == "Nothing of it is left to write."


def test_a_sheet_that_stands_already_leaves_nothing_to_review(window, bar, qtbot):
    dialog = restoring(window, bar, qtbot, 0)
    wait_for(lambda: "Would be written" in dialog.pane.texts())
    assert not dialog.review.isEnabled()


def test_a_unit_that_cannot_be_read_is_not_restored(window, visit, bar, qtbot):
    async def fail(serial, key):
        raise LinkError("it doesn't answer.")

    visit.plan_restore = fail
    dialog = restoring(window, bar, qtbot, 1)
    wait_for(lambda: "doesn't answer" in dialog.trouble.text())
    assert not dialog.review.isEnabled()


def test_a_unit_that_was_never_read_has_no_sheets(window, visit, bar, qtbot):
    async def nothing(serial):
        return ()

    visit.kept_sheets = nothing
    click(qtbot, bar.restore)
    wait_for(lambda: "No sheet is kept" in window.dialog.said.text())


def test_a_swap_is_shown_whole_and_done_with_a_reason(window, visit, bar, qtbot):
    click(qtbot, bar.swap)
    dialog = window.dialog
    wait_for(dialog.swap.isEnabled)
    assert "Living room: the lap's walk of it" in " ".join(dialog.pane.texts()["Lapses"])
    assert done(visit, "plan_swap")[0][:3] == ("plan_swap", "U03", STRANGER.serial)
    click(qtbot, dialog.swap)
    assert "say who swaps it, and why" in dialog.trouble.text()
    qtbot.keyClicks(dialog.why, "it stayed away")
    click(qtbot, dialog.swap)
    wait_for(lambda: closed(dialog))
    assert done(visit, "swap")[0][2:] == ("Test installer", "it stayed away")
    assert window.foot.said() == "U03 is swapped: review what is to be written to it."


def test_a_module_that_was_exchanged_is_a_swap_with_the_unit_itself(window, visit, bar, qtbot):
    click(qtbot, bar.swap)
    window.dialog.choices.successor.setCurrentIndex(1)
    wait_for(window.dialog.swap.isEnabled)
    assert done(visit, "plan_swap")[-1][2] == serial_of(visit.house, "U03")


def test_a_swap_that_is_refused_says_so(window, visit, bar, qtbot):
    async def fail(plan, *, by, why):
        raise InventoryError("another program holds it.")

    visit.swap = fail
    click(qtbot, bar.swap)
    dialog = window.dialog
    wait_for(dialog.swap.isEnabled)
    dialog.why.setText("because")
    click(qtbot, dialog.swap)
    wait_for(lambda: "another program holds it" in dialog.trouble.text())
    assert dialog.swap.isEnabled()


def test_a_dry_run_sends_nothing_and_says_what_would_go_out(window, visit, qtbot):
    window.open_review()
    review = window.dialog
    click(qtbot, review.rehearse)
    wait_for(review.results.isVisible)
    assert review.said.text() == "Dry run: 1 of 1 write could go out. Nothing was sent."
    assert not done(visit, "apply")
    assert review.apply.isEnabled()


def test_another_value_is_planned_with_a_reason(window, visit, qtbot):
    dialog = decide(window, visit)
    dialog.value.setText("sixty")
    click(qtbot, dialog.other)
    assert dialog.trouble.isVisible()
    dialog.value.setText("60")
    click(qtbot, dialog.other)
    assert "write down why" in dialog.trouble.text()
    dialog.reason.setText("a compromise with the client")
    click(qtbot, dialog.other)
    wait_for(lambda: closed(dialog))
    assert done(visit, "decide")[0][2:] == (
        "setting.hold_time_s", False, "a compromise with the client", "Test installer", 60,
    )  # fmt: skip


class TestPartlyDone:
    """A write of which only some stands."""

    @pytest.fixture
    def visit(self, partly):
        return partly

    def test_it_is_told_in_the_review_and_put_right_there(self, window, visit, qtbot):
        window.open_review()
        review = window.dialog
        assert review.note.words.text().startswith("1 write is partly done (U03)")
        click(qtbot, review.put_right)
        click(qtbot, review.partly.remedies[Remedy.RESUME])
        wait_for(lambda: "No write is partly done" in review.partly.title.text())
        assert done(visit, "put_right") == [("put_right", "step-41", "resume", "Test installer")]
        wait_for(lambda: not review.note.isVisible())
        review.partly.close()

    def test_a_job_opens_it_and_what_stays_partly_done_says_so(self, window, visit, qtbot):
        (job,) = partly_jobs(visit.house)
        window.jobs.list.job_asked.emit(job)
        dialog = window.dialog
        assert isinstance(dialog, PartlyDialog)
        assert len(dialog.pane.texts()["As it was last read"]) == 3
        click(qtbot, dialog.remedies[Remedy.ROLL_BACK])
        wait_for(lambda: "partly done. only some of it" in dialog.trouble.text())
        assert dialog.let_be.isEnabled()

    def test_it_is_let_be_with_a_reason(self, window, visit, qtbot):
        dialog = PartlyDialog(window.session, "", window)
        qtbot.addWidget(dialog)
        dialog.show()
        click(qtbot, dialog.let_be)
        dialog.question.reason.setText("the unit goes tomorrow")
        click(qtbot, dialog.question.choices["Let it be"])
        wait_for(lambda: done(visit, "let_be"))
        assert done(visit, "let_be")[0][2:] == ("Test installer", "the unit goes tomorrow")
        wait_for(lambda: not dialog.let_be.isEnabled())

    def test_nothing_is_sent_in_nobodys_name(self, window, visit, qtbot):
        dialog = PartlyDialog(window.session, "", window)
        qtbot.addWidget(dialog)
        dialog.show()
        dialog.by.setText("")
        click(qtbot, dialog.remedies[Remedy.RESUME])
        assert "say who chooses" in dialog.trouble.text()
        assert not done(visit, "put_right")

    def test_a_unit_that_does_not_answer_says_so(self, window, visit, qtbot):
        async def fail(key, remedy, *, by):
            raise LinkError("it doesn't answer.")

        visit.put_right = fail
        more = replace(visit.house, unfinished=visit.house.unfinished * 2)
        visit.change(more)
        wait_for(lambda: window.session.house is more)
        dialog = PartlyDialog(window.session, "U03", window)
        qtbot.addWidget(dialog)
        dialog.show()
        assert dialog.left.text() == "1 more after this one."
        click(qtbot, dialog.remedies[Remedy.RESUME])
        wait_for(lambda: "doesn't answer" in dialog.trouble.text())
        assert dialog.remedies[Remedy.RESUME].isEnabled()


def test_what_looks_like_a_swap_is_a_job_that_opens_it(window, visit, qtbot):
    house = visit.house
    line = house.units[serial_of(house, "U03")].line
    gone = Expected("U03", line.room, line.serial, "", Meeting.GONE, "Its reports have stopped.")
    seen = replace(house, expected=(gone,))
    visit.change(seen)
    wait_for(lambda: window.session.house is seen)
    (job,) = swap_jobs(seen)
    window.jobs.list.job_asked.emit(job)
    dialog = window.dialog
    assert dialog.choices.successor.currentData() == STRANGER.serial
    assert "unit replaced" in dialog.sign.words.text()
    wait_for(dialog.swap.isEnabled)
