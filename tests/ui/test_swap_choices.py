"""What a person chooses of a swap in its dialog: what was exchanged, how it is fixed, which areas stay."""

import pytest
from PySide6.QtCore import Qt

from fleet.jobs.swap_signs import SwapKind
from fleet.model.errors import PlanError
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import house_of
from tests.ui.invented_updates import NEWCOMER, with_newcomer
from tests.ui.meeting_hands import click, closed, done
from tests.ui.screens import serial_of, wait_for
from ui.windows.swap_choices import SwapChoices


@pytest.fixture
def visit():
    return FakeVisit(with_newcomer(house_of()))


@pytest.fixture
def dialog(window, visit, qtbot):
    """The swap of U02, whose place a newcomer takes that holds one area where two are planned."""
    window.open_unit(serial_of(visit.house, "U02"))
    click(qtbot, window.plan.bar.swap)
    wait_for(window.dialog.swap.isEnabled)
    return window.dialog


def asked(visit):
    """What the last plan was asked for: kind, mount, areas."""
    return done(visit, "plan_swap")[-1][3:]


def planned_again(dialog, visit, before):
    wait_for(lambda: len(done(visit, "plan_swap")) > before and dialog.swap.isEnabled())


def test_it_is_planned_as_the_old_one_hangs_to_begin_with(dialog, visit):
    assert done(visit, "plan_swap") == [("plan_swap", "U02", NEWCOMER.serial, None, None, ())]
    assert (dialog.choices.fixed.currentText(), dialog.choices.heading.value()) == ("upright", 90.0)


def test_a_mount_that_differs_is_planned_with(dialog, visit):
    dialog.choices.fixed.setCurrentIndex(1)
    planned_again(dialog, visit, 1)
    pose = visit.house.units[serial_of(visit.house, "U02")].line.pose
    assert asked(visit) == (None, pose.mirrored(), ())
    dialog.choices.heading.setValue(135.5)
    planned_again(dialog, visit, 2)
    assert (asked(visit)[1].heading_mdeg, asked(visit)[1].upside_down) == (135_500, True)
    assert not any("fixed as the old one" in line for line in dialog.pane.texts()["To do"])
    dialog.choices.fixed.setCurrentIndex(0)
    dialog.choices.heading.setValue(90.0)
    planned_again(dialog, visit, 4)
    assert asked(visit) == (None, None, ())


def test_areas_to_keep_are_chosen_where_not_all_fit(dialog, visit):
    areas = dialog.choices.areas
    assert areas.isVisible()
    assert [areas.item(n).text() for n in (0, 1)] == ["Sofa: kept", "Armchair: left out"]
    keys = [area.key for area in visit.house.units[serial_of(visit.house, "U02")].line.areas]
    areas.item(0).setCheckState(Qt.CheckState.Unchecked)
    areas.item(1).setCheckState(Qt.CheckState.Checked)
    planned_again(dialog, visit, 2)
    assert asked(visit) == (None, None, (keys[1],))
    wait_for(lambda: areas.item(1).text() == "Armchair: kept")
    dialog.choices.heading.setValue(95.0)
    planned_again(dialog, visit, 3)
    assert asked(visit)[2] == (keys[1],)
    assert areas.item(0).checkState() is Qt.CheckState.Unchecked


def test_the_chosen_areas_are_what_is_swapped(dialog, visit, qtbot):
    dialog.choices.areas.item(0).setCheckState(Qt.CheckState.Unchecked)
    dialog.choices.areas.item(1).setCheckState(Qt.CheckState.Checked)
    planned_again(dialog, visit, 2)
    dialog.why.setText("it stayed away")
    click(qtbot, dialog.swap)
    wait_for(lambda: closed(dialog))
    (area,) = done(visit, "swap")[0][1].line.areas
    assert area.label == "Armchair"


def test_a_person_says_what_was_exchanged_in_the_unit_itself(dialog, visit):
    texts = [dialog.choices.successor.itemText(n) for n in range(dialog.choices.successor.count())]
    dialog.choices.successor.setCurrentIndex(len(texts) - 2)
    planned_again(dialog, visit, 1)
    assert asked(visit)[0] is SwapKind.MODULE
    assert not dialog.choices.areas.isVisible()
    dialog.choices.fixed.setCurrentIndex(1)
    dialog.choices.successor.setCurrentIndex(len(texts) - 1)
    planned_again(dialog, visit, 3)
    assert asked(visit) == (SwapKind.RESET, None, ())
    assert not dialog.choices.fixed.isEnabled()


def test_what_cannot_be_planned_leaves_nothing_of_the_plan_before(dialog, visit):
    async def fail(label, serial, **more):
        raise PlanError("the same serial answers.", subject=label)

    visit.plan_swap = fail
    dialog.choices.successor.setCurrentIndex(2)
    wait_for(lambda: "the same serial answers" in dialog.trouble.text())
    assert not dialog.swap.isEnabled()
    assert dialog.pane.texts() == {}


def test_a_place_without_anybody_to_take_over_asks_for_nothing(qtbot):
    choices = SwapChoices((), None, None)
    qtbot.addWidget(choices)
    assert choices.request() is None
    assert not choices.heading.isEnabled()
