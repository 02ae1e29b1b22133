from dataclasses import replace

import pytest

from fleet.jobs.findings import findings_from_reading
from fleet.model.findings import FindingKind
from fleet.model.house import EarlierVisit, RoomVisit, Signature
from tests.unit.jobs.invented import PLAN, READ_AT, unit


def kinds(*units, plan=PLAN, lost_ppm=None):
    return [finding.kind for finding in findings_from_reading(plan, units, lost_ppm or {})]


def test_a_unit_as_planned_gives_no_finding():
    assert kinds(unit()) == []


def test_a_unit_that_was_never_read_gives_no_finding():
    assert kinds(replace(unit(), found=None)) == []


def test_a_setting_changed_since_it_was_left():
    (finding,) = findings_from_reading(PLAN, [unit({"setting.hold_time_s": 120})], {})
    assert finding.kind is FindingKind.SETTING_CHANGED
    assert (finding.room, finding.unit) == ("den", "U01")
    assert finding.evidence == {
        "item": "setting.hold_time_s",
        "found": 120,
        "as_left": 30,
        "planned": 30,
    }


def test_a_setting_that_only_the_plan_moved_is_no_finding():
    assert kinds(unit({"setting.hold_time_s": 45}, {"setting.hold_time_s": 45})) == []


def test_an_area_past_the_wall_says_how_far():
    # the unit's y 4400 is plan x 4400, and the wall stands at 4000
    outline = "0,1000 1000,1000 1000,4400 0,4400"
    found = {"areas.sofa.outline": outline}
    (finding,) = findings_from_reading(PLAN, [unit(found, found)], {})
    assert finding.kind is FindingKind.AREA_PAST_WALL
    assert finding.evidence == {"area": "sofa", "past_wall_mm": 400}


def test_an_area_that_touches_the_wall_is_no_finding():
    outline = "0,1000 1000,1000 1000,4040 0,4040"
    found = {"areas.sofa.outline": outline}
    assert kinds(unit(found, found)) == []


def test_a_build_two_behind_is_counted():
    found = {"build.version": "1.8.0"}
    (finding,) = findings_from_reading(PLAN, [unit(found, found)], {})
    assert finding.kind is FindingKind.BUILD_BEHIND
    assert finding.evidence["builds_behind"] == 2


def test_a_build_that_nobody_knows_is_not_called_behind():
    assert kinds(unit({"build.version": "9.9.9"}, {"build.version": "9.9.9"})) == []


def test_module_firmware_that_nobody_vouched_for():
    assert kinds(unit({"module.firmware": "3.2"}, {"module.firmware": "3.2"})) == [
        FindingKind.MATCH_UNKNOWN
    ]


def test_another_module_is_one_finding_and_hides_its_settings():
    swapped = unit({"module.type": "static", "setting.hold_time_s": 9, "areas.sofa.outline": None})
    assert kinds(swapped) == [FindingKind.MODULE_SWAPPED]


@pytest.mark.parametrize(("signal_dbm", "weak"), [(-80, False), (-81, True), (None, False)])
def test_a_signal_below_the_bound_is_weak(signal_dbm, weak):
    assert kinds(unit(signal_dbm=signal_dbm)) == ([FindingKind.WEAK_LINK] if weak else [])


@pytest.mark.parametrize(("lost_ppm", "weak"), [(50_000, False), (50_001, True), (None, False)])
def test_more_than_one_in_twenty_reports_lost_is_weak(lost_ppm, weak):
    known = {} if lost_ppm is None else {"s-1": lost_ppm}
    assert kinds(unit(), lost_ppm=known) == ([FindingKind.WEAK_LINK] if weak else [])


def test_a_room_all_shown_and_never_accepted():
    plan = replace(PLAN, visits=(EarlierVisit(READ_AT, "x", rooms=(RoomVisit("den", ("a",)),)),))
    (finding,) = findings_from_reading(plan, [], {})
    assert (finding.kind, finding.room, finding.unit) == (FindingKind.UNSIGNED, "den", "")


@pytest.mark.parametrize(
    "room",
    [
        RoomVisit("den", ("a",), open=("b",)),
        RoomVisit("den", ()),
        RoomVisit("den", ("a",), signature=Signature("n", "r", READ_AT)),
    ],
)
def test_a_room_open_empty_or_accepted_is_not_unsigned(room):
    plan = replace(PLAN, visits=(EarlierVisit(READ_AT, "x", rooms=(room,)),))
    assert kinds(plan=plan) == []


def test_a_unit_that_loses_reports_and_says_no_signal_is_told_by_its_loss_alone():
    (found,) = findings_from_reading(PLAN, [unit(signal_dbm=None)], {"s-1": 90_000})
    assert found.reason == "9 % of its numbered reports missing"
