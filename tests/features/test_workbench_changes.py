"""Restore, swap and update in the window, on the real engine with the simulated house beside it."""

import pytest

from fleet.engine.files import read_plan
from fleet.model.firmware import CampaignState
from fleet.model.house import ModuleType
from tests.features.real_window import HOUSE, LIMIT_MS, decide_all, workbench
from tests.ui.meeting_hands import click, closed
from tests.ui.screens import serial_of, wait_for
from ui.presenters.key_words import TRUST
from ui.windows.review_dialog import ReviewDialog

pytestmark = [
    pytest.mark.slow,
    # Qt's own offscreen plugin says so of every dialog.
    pytest.mark.qt_log_ignore("This plugin does not support", extend=True),
]
HOLD_TIME = "setting.hold_time_s"


@pytest.fixture
def window(qtbot, tmp_path):
    plan = read_plan(HOUSE)
    with workbench(plan, tmp_path) as opened:
        click(qtbot, opened.house.scan)
        wait_for(lambda: opened.session.snapshot.heard == len(plan.units), LIMIT_MS)
        wait_for(lambda: all(u.found for u in opened.session.house.units.values()), LIMIT_MS)
        yield opened


def found(window, serial):
    return window.session.house.units[serial].found.sheet


def test_a_setting_that_somebody_changed_is_restored_as_it_was_left(window, qtbot):
    house = window.session.house
    serial = serial_of(house, "U03")
    left = house.units[serial].as_left
    assert found(window, serial)[HOLD_TIME] != left[HOLD_TIME]
    window.unit_steps.ask_restore(serial)
    dialog = window.dialog
    wait_for(lambda: dialog.sheets.count() > 1, LIMIT_MS)
    as_left = next(n for n, row in enumerate(dialog._rows) if "as left" in row.text)
    dialog.sheets.setCurrentRow(as_left)
    wait_for(dialog.review.isEnabled, LIMIT_MS)
    click(qtbot, dialog.review)
    review = window.dialog
    assert isinstance(review, ReviewDialog)
    (row,) = review.table.ticked()
    assert row.as_left == left[HOLD_TIME]
    decide_all(review, "as it was left, in a test")
    wait_for(review.table.ticked, LIMIT_MS)
    click(qtbot, review.apply)
    wait_for(lambda: "stand as asked" in review.said.text(), LIMIT_MS)
    wait_for(lambda: found(window, serial)[HOLD_TIME] == left[HOLD_TIME], LIMIT_MS)
    review.close()


def test_a_module_that_was_exchanged_is_taken_over_as_it_is(window, qtbot):
    serial = serial_of(window.session.house, "U09")
    assert window.session.house.units[serial].line.module_type is ModuleType.TRACKING
    window.unit_steps.ask_swap(serial)
    dialog = window.dialog
    wait_for(dialog.swap.isEnabled, LIMIT_MS)
    click(qtbot, dialog.swap)
    assert "say who swaps it, and why" in dialog.trouble.text()
    dialog.why.setText("the tracking module failed, in a test")
    click(qtbot, dialog.swap)
    wait_for(lambda: closed(dialog), LIMIT_MS)
    wait_for(
        lambda: window.session.house.units[serial].line.module_type is ModuleType.STATIC, LIMIT_MS
    )
    assert "module-swapped" not in _kinds(window)


def test_a_build_goes_to_a_unit_from_a_shelf_once_its_key_is_trusted(window, qtbot):
    serial = serial_of(window.session.house, "U05")
    before = found(window, serial)
    window.campaign.ask_new([serial])
    dialog = window.dialog
    _trust(dialog, qtbot)
    row = next(n for n, line in enumerate(dialog.image._lines) if _is_static(line.image))
    dialog.image.images.setCurrentRow(row)
    dialog.image.dwell.setValue(5)
    click(qtbot, dialog.next)
    wait_for(lambda: dialog.pages.currentWidget() is dialog.waves, LIMIT_MS)
    assert not dialog.start.isEnabled()
    _vouch(dialog, qtbot)
    wait_for(dialog.start.isEnabled, LIMIT_MS)
    click(qtbot, dialog.start)
    wait_for(lambda: _state(window) is CampaignState.DONE, LIMIT_MS)
    wait_for(lambda: found(window, serial)["build.version"] == "2.1.3", LIMIT_MS)
    after = found(window, serial)
    kept = [key for key in before if key.startswith(("setting.", "areas."))]
    assert {key: after[key] for key in kept} == {key: before[key] for key in kept}
    wait_for(lambda: not _kinds(window) & {"build-behind", "match-unknown"}, LIMIT_MS)
    assert "2.1.3" in window.session.house.campaign.updates[0].said


def _trust(dialog, qtbot):
    wait_for(dialog.image.band.trust.isVisible, LIMIT_MS)
    assert dialog.image.line is None
    click(qtbot, dialog.image.band.trust)
    question = dialog.question
    question.tick.click()
    question.reason.setText("compared with the one in the README, in a test")
    click(qtbot, question.choices[TRUST])
    wait_for(lambda: dialog.image.line is not None, LIMIT_MS)


def _vouch(dialog, qtbot):
    assert dialog.waves.left_out.item(0).text().startswith("U05: nobody has vouched")
    click(qtbot, dialog.waves.vouch)
    question = dialog.question
    question.reason.setText("tried on the bench, in a test")
    click(qtbot, question.choices["They go together"])


def _is_static(image):
    return image.module_types == ("static",)


def _kinds(window):
    return {finding.kind.value for finding in window.session.house.findings}


def _state(window):
    campaign = window.session.house.campaign
    return campaign and campaign.state
