from dataclasses import replace

import pytest

from fleet.jobs.changes import pending_changes, restoring_step, steps_for
from fleet.model.errors import PlanError
from fleet.model.sheets import Choice, Standing, Take
from tests.unit.jobs.invented import LINE, unit


def test_nothing_is_pending_on_a_unit_as_planned():
    assert pending_changes([unit()]) == ()


def test_a_unit_that_was_never_read_has_nothing_to_write():
    assert pending_changes([replace(unit(), found=None)]) == ()


def test_a_moved_plan_is_to_apply_and_a_change_on_site_waits():
    moved = unit({"setting.hold_time_s": 45}, {"setting.hold_time_s": 45})
    changed = unit({"setting.hold_time_s": 45})
    assert [change.standing for change in pending_changes([moved])] == [Standing.TO_APPLY]
    assert [change.standing for change in pending_changes([changed])] == [Standing.CHANGED_ON_SITE]


def test_an_area_that_the_unit_lost_can_be_written_but_a_setting_it_lacks_can_not():
    lost = unit({"areas.sofa.outline": None, "setting.hold_time_s": None})
    assert [change.key for change in pending_changes([lost])] == ["areas.sofa.outline"]


def test_builds_are_never_written_by_a_change():
    assert pending_changes([unit({"build.version": "1.8.0"})]) == ()


def test_a_swapped_module_is_not_written_to():
    assert pending_changes([unit({"module.type": "static", "setting.hold_time_s": 1})]) == ()


def test_changes_become_one_write_a_part_with_what_stood_before():
    read = unit({"setting.hold_time_s": 45, "areas.sofa.label": "Couch"})
    changes = pending_changes([read])
    steps = steps_for(changes, {"s-1": read.found})
    assert [(step.part, dict(step.items), dict(step.before)) for step in steps] == [
        ("areas", {"areas.sofa.label": "Sofa"}, {"areas.sofa.label": "Couch"}),
        ("settings", {"setting.hold_time_s": 30}, {"setting.hold_time_s": 45}),
    ]
    assert {step.label for step in steps} == {LINE.label}


def test_restoring_swaps_before_and_after():
    read = unit({"setting.hold_time_s": 45})
    (step,) = steps_for(pending_changes([read]), {"s-1": read.found})
    back = restoring_step(step)
    assert (back.items, back.before) == (step.before, step.items)


def test_a_change_of_a_unit_that_was_never_read_is_refused():
    with pytest.raises(PlanError, match="never read"):
        steps_for(pending_changes([unit({"setting.hold_time_s": 45})]), {})


def test_what_a_person_went_back_to_the_plan_about_is_to_apply():
    read, key = unit({"setting.hold_time_s": 45}), "setting.hold_time_s"
    went_back = {"s-1": {key: Choice(Take.PLANNED, "A. N.", "it was agreed")}}
    (change,) = pending_changes([read], went_back)
    assert change.standing is Standing.TO_APPLY
    assert change.reason == "A. N. decided to go back to the plan: it was agreed"
    typed = {"s-1": {key: Choice(Take.TYPED, "A. N.", "half way", 40)}}
    (other,) = pending_changes([read], typed)
    assert other.standing is Standing.TO_APPLY
    assert other.reason == "A. N. decided on another value: half way"
    kept = {"s-1": {key: Choice(Take.FOUND, "A. N.", "they like it")}}
    (waits,) = pending_changes([read], kept)
    assert waits.standing is Standing.CHANGED_ON_SITE


def test_a_mount_is_never_written_by_a_change():
    moved = replace(unit(), mount=LINE.pose.mirrored())
    assert pending_changes([moved]) == ()
