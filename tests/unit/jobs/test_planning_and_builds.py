from dataclasses import replace

import pytest

from fleet.jobs.areas import area_in_view, outline_on_plan, past_wall_mm
from fleet.jobs.builds import drift, match_of
from fleet.jobs.planning import planned_sheet
from fleet.model.geometry import Pose
from fleet.model.house import MatchWord
from tests.unit.jobs.invented import AREA, BUILD, FOUND, LINE, MATCH, ROOM


def test_a_planned_sheet_holds_build_settings_and_areas_in_the_units_view():
    # U01 hangs at (0, 2000) and looks along plan x: y away = plan x, x right = 2000 − plan y
    sheet = planned_sheet(LINE, (BUILD,))
    assert sheet["build.version"] == "2.1.3"
    assert sheet["setting.hold_time_s"] == 30
    assert sheet["areas.sofa.outline"] == "0,1000 1000,1000 1000,2000 0,2000"


def test_without_an_approved_build_no_build_is_planned():
    assert "build.version" not in planned_sheet(LINE, ())


def test_decisions_override_and_remove_items():
    sheet = planned_sheet(
        LINE, (BUILD,), {"setting.hold_time_s": 120, "areas.sofa.label": None, "x": None}
    )
    assert sheet["setting.hold_time_s"] == 120
    assert "areas.sofa.label" not in sheet


def test_an_area_goes_into_the_view_and_back_where_the_unit_looks_along_the_walls():
    for heading_mdeg in (0, 90_000, 180_000, 270_000):
        for upside_down in (False, True):
            pose = Pose(300, 400, heading_mdeg, upside_down)
            back = outline_on_plan(area_in_view(AREA, pose).outline_mm, pose)
            assert set(back) == set(AREA.outline_mm)


def test_an_area_inside_is_not_past_the_wall():
    assert past_wall_mm(area_in_view(AREA, LINE.pose), LINE.pose, ROOM.outline_mm) == 0


@pytest.mark.parametrize(
    ("version", "behind", "current"),
    [("2.1.3", 0, True), ("2.0.4", 1, False), ("1.8.0", 2, False), ("2.1", None, False)],
)
def test_a_version_is_counted_back_from_the_approved_one(version, behind, current):
    state = drift(FOUND | {"build.version": version}, (BUILD,), (MATCH,))
    assert (state.behind, state.current) == (behind, current)


def test_hardware_without_an_approved_build_is_unknown_and_not_current():
    state = drift(FOUND | {"hardware.revision": "R9"}, (BUILD,), (MATCH,))
    assert (state.approved, state.current, state.match) == (None, False, MatchWord.UNKNOWN)


def test_a_blocked_match_is_told_as_blocked():
    blocked = replace(MATCH, match=MatchWord.BLOCKED)
    assert match_of("R3", "tracking", "5.0", "2.1.3", (blocked,)) is MatchWord.BLOCKED
    assert match_of("R3", "tracking", "5.0", "9", (blocked,)) is MatchWord.UNKNOWN
