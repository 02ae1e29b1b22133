"""A campaign in the window, as a person runs it: from the drift line to the last gate."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QLabel

from fleet.engine.shelf_keys import ShelfLook
from fleet.model.errors import LinkError, PlanError
from fleet.model.firmware import CampaignState, UpdateState
from fleet.model.house import MatchWord
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import house_of
from tests.ui.invented_updates import KEY, NEWER, TRUSTED_KEY, drifting, running_newer, under_way
from tests.ui.meeting_hands import click, closed, done
from tests.ui.screens import open_window, serial_of, wait_for
from ui.presenters.drift_rows import build_jobs
from ui.windows.campaign_dialog import CampaignDialog
from ui.windows.notices_dialog import NoticesDialog
from ui.windows.reason_dialog import ReasonDialog


@pytest.fixture
def visit():
    return FakeVisit(drifting(house_of()))


@pytest.fixture
def updates(window):
    """The tab on which a campaign is followed, in front."""
    window.plan.show_campaign()
    return window.plan.updates


def job_called(house, title):
    return next(job for job in build_jobs(house) if job.title == title)


def with_shelf(window, qtbot, wanted=()):
    """A new campaign whose shelf is open."""
    window.campaign.ask_new(wanted)
    dialog = window.dialog
    qtbot.keyClicks(dialog.image.folder, "/media/stick/shelf")
    qtbot.keyClick(dialog.image.folder, Qt.Key.Key_Return)
    wait_for(lambda: dialog.image.line is not None)
    return dialog


def with_waves(window, qtbot, wanted=()):
    """A new campaign whose waves are planned."""
    dialog = with_shelf(window, qtbot, wanted)
    click(qtbot, dialog.next)
    wait_for(lambda: dialog.pages.currentWidget() is dialog.waves)
    return dialog


def test_a_drift_line_opens_a_campaign_for_its_units(window, visit):
    window.jobs.list.job_asked.emit(job_called(visit.house, "2 units behind by 2"))
    assert isinstance(window.dialog, CampaignDialog)
    wanted = {serial_of(visit.house, label) for label in ("U03", "U05")}
    assert set(window.dialog.image.units.chosen()) == wanted


def test_drift_of_several_units_that_is_no_update_is_told_unit_by_unit(window, visit):
    lines = tuple(replace(line, word="ahead") for line in visit.house.drift)
    house = replace(visit.house, drift=lines)
    visit.change(house)
    wait_for(lambda: window.session.house is house)
    window.jobs.list.job_asked.emit(job_called(house, "14 units ahead"))
    assert isinstance(window.dialog, NoticesDialog)


def test_drift_of_one_unit_turns_to_it(window, visit):
    window.jobs.list.job_asked.emit(job_called(visit.house, "U07 ahead"))
    assert window.plan.title.text() == "U07, Garage"


def test_nothing_can_be_planned_before_a_trusted_image_and_a_unit_are_chosen(window, visit, qtbot):
    dialog = with_shelf(window, qtbot)
    assert dialog.next.isEnabled()
    dialog.image.images.setCurrentRow(1)
    assert not dialog.next.isEnabled()
    assert "don't use it" in dialog.image.facts.texts()["Signature"][0]
    dialog.image.images.setCurrentRow(0)
    for row in range(dialog.image.units.rowCount()):
        dialog.image.units.item(row, 0).setCheckState(Qt.CheckState.Unchecked)
    assert not dialog.next.isEnabled()


def test_what_an_update_disrupts_follows_how_many_are_away_at_once(window, qtbot):
    dialog = with_shelf(window, qtbot)
    dialog.image.at_once.setValue(1)
    assert "one unit at a time" in dialog.image.facts.texts()["What it disrupts"][0]


def test_a_folder_without_a_manifest_says_so(window, qtbot, monkeypatch):
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: "/media/stick")
    window.campaign.ask_new()
    dialog = window.dialog
    click(qtbot, dialog.image.choose)
    wait_for(lambda: "no manifest lies there" in dialog.trouble.text())
    assert dialog.image.open.isEnabled()
    assert not dialog.next.isEnabled()


def test_an_empty_shelf_says_so(window, visit, qtbot):
    async def nothing(folder):
        return ShelfLook(folder, KEY, TRUSTED_KEY)

    visit.open_shelf = nothing
    window.campaign.ask_new()
    window.dialog.image.folder.setText("/media/stick/shelf")
    click(qtbot, window.dialog.image.open)
    wait_for(lambda: "No image lies" in window.dialog.image.no_image.text())


def test_a_campaign_is_begun_by_keyboard(window, visit, qtbot):
    dialog = with_shelf(window, qtbot, [serial_of(visit.house, "U03")])
    units = dialog.image.units
    row = next(n for n in range(units.rowCount()) if units.item(n, 0).text() == "U03")
    units.setFocus()
    units.setCurrentCell(row, 3)
    qtbot.keyClick(units, Qt.Key.Key_Space)
    dialog.image.dwell.setValue(30)
    dialog.image.pull.setChecked(True)
    qtbot.keyClick(dialog, Qt.Key.Key_Return)
    wait_for(lambda: dialog.pages.currentWidget() is dialog.waves)
    serial = serial_of(visit.house, "U03")
    assert done(visit, "plan_campaign") == [
        ("plan_campaign", "2.1.3", (serial,), (serial,), 8, 30, True)
    ]
    assert list(dialog.waves.waves.texts()) == ["Bench: 1 unit"]
    qtbot.keyClick(dialog, Qt.Key.Key_Return)
    wait_for(lambda: closed(dialog))
    assert done(visit, "start_campaign") == [("start_campaign", "2.1.3", "Test installer")]
    wait_for(lambda: window.plan.title.text() == "Campaign 1: 2.1.3")
    assert window.plan.tabs.currentWidget() is window.plan.campaign


def test_nothing_starts_in_nobodys_name(window, visit, qtbot):
    dialog = with_waves(window, qtbot)
    dialog.by.setText(" ")
    click(qtbot, dialog.start)
    assert "say who starts it" in dialog.trouble.text()
    click(qtbot, dialog.back)
    assert dialog.pages.currentWidget() is dialog.image
    assert not done(visit, "start_campaign")


def test_an_unknown_match_needs_a_persons_word_and_reason(window, visit, qtbot):
    dialog = with_waves(window, qtbot)
    assert dialog.waves.left_out.item(0).text().startswith("U05: nobody has vouched")
    click(qtbot, dialog.waves.vouch)
    question = dialog.question
    click(qtbot, question.choices["They go together"])
    assert "write down why" in question.trouble.text()
    qtbot.keyClicks(question.reason, "tried on the bench on 24 Nov")
    question.by.setText("")
    click(qtbot, question.choices["They go together"])
    assert "say who says so" in question.trouble.text()
    question.by.setText("A. Fitter")
    click(qtbot, question.choices["They go together"])
    wait_for(lambda: len(done(visit, "plan_campaign")) == 2)
    assert done(visit, "vouch")[0][2:] == (
        "H4 static 3.1", MatchWord.ALLOWED, "A. Fitter", "tried on the bench on 24 Nov",
    )  # fmt: skip
    wait_for(lambda: not dialog.waves.left_out.isVisible())


class TestAnOlderBuild:
    @pytest.fixture
    def visit(self):
        visit = FakeVisit(drifting(running_newer(house_of())))
        visit.newer = NEWER
        return visit

    def test_is_never_sent_by_default(self, window, visit, qtbot):
        dialog = with_waves(window, qtbot)
        assert {one.text()[:3] for one in left_out(dialog)} == {"U05", "U07", "U12"}
        assert done(visit, "plan_campaign")[0][-3:] == (8, 120, False)
        assert not dialog.waves.caution.isVisible()

    def test_is_meant_only_with_a_tick_and_a_reason(self, window, visit, qtbot):
        dialog = with_waves(window, qtbot)
        click(qtbot, dialog.waves.downgrade)
        question = dialog.question
        said = " ".join(label.text() for label in question.findChildren(QLabel))
        assert "Back to 2.1.3: U07 (runs 2.2.0), U12 (runs 2.2.0)." in said
        send = question.choices["Plan the older build"]
        assert not send.isEnabled()
        question.tick.click()
        click(qtbot, send)
        assert "write down why" in question.trouble.text()
        qtbot.keyClicks(question.reason, "2.2.0 loses still people")
        question.by.setText("A. Fitter")
        click(qtbot, send)
        wait_for(dialog.waves.caution.isVisible)
        assert done(visit, "plan_campaign")[-1][-1] == "2.2.0 loses still people"
        assert "2.2.0 loses still people" in dialog.waves.cautioned.text()
        assert {one.text()[:3] for one in left_out(dialog)} == {"U05"}
        assert not dialog.waves.downgrade.isVisible()
        click(qtbot, dialog.start)
        wait_for(lambda: closed(dialog))
        assert done(visit, "start_campaign")[0][2] == "A. Fitter"

    def test_is_meant_for_one_plan_alone(self, window, visit, qtbot):
        dialog = with_waves(window, qtbot)
        dialog.waves.left_out.itemActivated.emit(choose_left_out(dialog, "U12"))
        dialog.question.tick.click()
        dialog.question.reason.setText("asked for")
        click(qtbot, dialog.question.choices["Plan the older build"])
        wait_for(dialog.waves.caution.isVisible)
        click(qtbot, dialog.back)
        click(qtbot, dialog.next)
        wait_for(lambda: len(done(visit, "plan_campaign")) == 3)
        wait_for(lambda: dialog.pages.currentWidget() is dialog.waves)
        assert done(visit, "plan_campaign")[-1][-3:] == (8, 120, False)
        wait_for(lambda: not dialog.waves.caution.isVisible())


def left_out(dialog):
    """The rows of those that are left out."""
    rows = dialog.waves.left_out
    return [rows.item(number) for number in range(rows.count())]


def choose_left_out(dialog, label):
    """Choose the row of a unit that is left out."""
    row = next(item for item in left_out(dialog) if item.text().startswith(label))
    dialog.waves.left_out.setCurrentItem(row)
    return row


def test_a_word_that_cannot_be_kept_says_so(window, visit, qtbot):
    async def fail(image, key, *, word, by, reason):
        raise PlanError("another program holds the inventory.", subject=key)

    visit.vouch = fail
    dialog = with_waves(window, qtbot)
    dialog.waves.left_out.itemActivated.emit(dialog.waves.left_out.item(0))
    question = dialog.question
    question.reason.setText("tried")
    click(qtbot, question.choices["They don’t"])
    wait_for(lambda: "another program" in question.trouble.text())
    assert question.choices["They don’t"].isEnabled()


def test_a_start_that_is_refused_says_so(window, visit, qtbot):
    async def fail(campaign, *, by):
        raise PlanError("another campaign has no end yet.")

    visit.start_campaign = fail
    dialog = with_waves(window, qtbot)
    click(qtbot, dialog.start)
    wait_for(lambda: "another campaign" in dialog.trouble.text())
    assert dialog.start.isEnabled()


def test_a_site_without_units_offers_no_campaign(window, visit):
    empty = replace(visit.house, plan=replace(visit.house.plan, units=()), units={})
    visit.change(empty)
    wait_for(lambda: window.session.house is empty)
    window.campaign.ask_new()
    assert "start a site first" in window.foot.said()
    assert not window.plan.updates.new.isEnabled()


def test_a_running_campaign_is_paused_and_resumed(window, visit, updates, qtbot):
    calm = under_way()
    passed = tuple(replace(update, accepted=True) for update in calm.campaign.updates)
    visit.change(replace(calm, campaign=replace(calm.campaign, updates=passed)))
    wait_for(updates.pause.isVisible)
    assert not updates.new.isVisible()
    click(qtbot, updates.pause)
    wait_for(updates.resume.isVisible)
    wait_for(lambda: window.foot.said() == "Pauses once the running units have an end.")
    click(qtbot, updates.resume)
    wait_for(updates.pause.isVisible)
    assert done(visit, "resume_campaign") == [("resume_campaign", "Test installer", "")]


def test_a_campaign_goes_on_with_its_shelf_in_another_folder(
    window, visit, updates, qtbot, monkeypatch
):
    visit.change(under_way(state=CampaignState.AT_GATE))
    wait_for(updates.elsewhere.isVisible)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: "")
    click(qtbot, updates.elsewhere)
    assert window.dialog is None
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: "/media/other/shelf")
    click(qtbot, updates.elsewhere)
    window.dialog.reason.setText("looked after")
    click(qtbot, window.dialog.choices["Go on"])
    wait_for(lambda: done(visit, "resume_campaign"))
    assert done(visit, "resume_campaign")[0][1:] == (
        "Test installer",
        "looked after",
        Path("/media/other/shelf"),
    )
    wait_for(lambda: not updates.elsewhere.isVisible())


def test_going_on_after_failures_asks_why(window, visit, updates, qtbot):
    visit.change(under_way(state=CampaignState.AT_GATE))
    wait_for(updates.resume.isVisible)
    click(qtbot, updates.resume)
    question = window.dialog
    assert isinstance(question, ReasonDialog)
    question.reason.setText("U10 is fitted anew tomorrow")
    click(qtbot, question.choices["Go on"])
    wait_for(lambda: done(visit, "resume_campaign"))
    assert done(visit, "resume_campaign")[0][1:] == (
        "Test installer",
        "U10 is fitted anew tomorrow",
    )


def test_stopping_is_asked_about_first(window, visit, updates, qtbot):
    visit.change(under_way())
    wait_for(updates.stop.isVisible)
    click(qtbot, updates.stop)
    assert not done(visit, "stop_campaign")
    question = window.dialog
    assert not question.reason.isVisible()
    click(qtbot, question.choices["Stop it for good"])
    wait_for(updates.new.isVisible)
    assert done(visit, "stop_campaign")


def test_a_unit_that_is_lost_is_shouted_and_the_unit_that_is_away_is_in_view(
    window, visit, updates
):
    visit.change(under_way())
    wait_for(updates.shout.isVisible)
    assert "NOT RECOVERED" in updates.lost.text()
    assert updates.list.rows()[updates.list.currentRow()].word == "running"
    lost = tuple(replace(u, state=UpdateState.NOT_RECOVERED) for u in visit.house.campaign.updates)
    many = replace(visit.house.campaign, updates=lost)
    visit.change(replace(visit.house, campaign=many))
    wait_for(lambda: "… and 11 more." in updates.lost.text())


def test_progress_moves_without_losing_what_is_chosen(window, visit, updates):
    visit.change(under_way())
    wait_for(lambda: updates.list.count() > 0)
    updates.list.setCurrentRow(0)
    campaign = visit.house.campaign
    moved = tuple(
        replace(u, done_ppm=700_000) if u.done_ppm == 310_000 else u for u in campaign.updates
    )
    visit.change(replace(visit.house, campaign=replace(campaign, updates=moved)))
    wait_for(lambda: any(row.share == pytest.approx(0.7) for row in updates.list.rows()))
    assert updates.list.currentRow() == 0


def test_a_campaign_that_was_cut_off_is_offered_at_the_start(qapp, tmp_path, qtbot):
    visit = FakeVisit(under_way(state=CampaignState.RUNNING))
    with open_window(visit, records=tmp_path) as window:
        updates = window.plan.updates
        wait_for(updates.offer.isVisible)
        assert window.plan.tabs.currentWidget() is window.plan.campaign
        assert "will be read first" in updates.offered.text()
        assert updates.resume.isVisible()
        assert not updates.pause.isVisible()
        click(qtbot, updates.go_on)
        window.dialog.reason.setText("looked after")
        click(qtbot, window.dialog.choices["Go on"])
        wait_for(lambda: not updates.offer.isVisible())
        wait_for(updates.pause.isVisible)


def test_an_offer_can_be_put_off_and_goes_when_the_campaign_ends(qapp, tmp_path, qtbot):
    visit = FakeVisit(under_way(state=CampaignState.PAUSED))
    with open_window(visit, records=tmp_path) as window:
        updates = window.plan.updates
        wait_for(updates.offer.isVisible)
        click(qtbot, updates.not_now)
        assert not updates.offer.isVisible()
        assert updates.resume.isVisible()
        updates.offer.show()
        ended = under_way(state=CampaignState.DONE)
        visit.change(ended)
        wait_for(lambda: not updates.offer.isVisible())


def test_a_campaign_that_cannot_be_paused_says_so(window, visit, updates, qtbot):
    async def fail():
        raise LinkError("nobody runs it here.")

    visit.pause_campaign = fail
    visit.change(under_way())
    wait_for(updates.pause.isVisible)
    click(qtbot, updates.pause)
    wait_for(lambda: "nobody runs it here" in window.foot.said())


def test_the_campaigns_line_among_the_jobs_turns_to_it(window, visit):
    visit.change(under_way())
    wait_for(lambda: window.session.house is visit.house)
    window.jobs.list.job_asked.emit(job_called(visit.house, "Campaign 3: 2.1.3"))
    assert window.plan.tabs.currentWidget() is window.plan.campaign
    window.plan.show_room("garage")
    assert window.plan.tabs.currentWidget() is window.plan.canvas


def test_a_reader_of_a_held_inventory_can_press_nothing(window, visit, updates):
    visit.change(replace(under_way(), read_only=True))
    wait_for(updates.pause.isVisible)
    assert not updates.pause.isEnabled()
    assert not updates.stop.isEnabled()
