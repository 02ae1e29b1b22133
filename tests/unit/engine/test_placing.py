from dataclasses import replace

import pytest

from fleet.engine.placing import on_wall, placed_line
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from tests.unit.jobs.invented import LINE, PLAN, ROOM, unit

READING = replace(unit().found, serial="s-2")


@pytest.mark.parametrize(
    ("point", "pose"),
    [
        ((100, 2000), Pose(0, 2000, 0)),
        ((3900, 1000), Pose(4000, 1000, 180_000)),
        ((2000, 50), Pose(2000, 0, 90_000)),
        ((2000, 5000), Pose(2000, 4000, 270_000)),
    ],
)
def test_a_unit_goes_onto_the_nearest_wall_and_looks_into_the_room(point, pose):
    assert on_wall(ROOM.outline_mm, point) == pose
    assert on_wall(ROOM.outline_mm[::-1], point) == pose


def test_a_unit_that_nobody_planned_gets_a_line_and_the_next_label():
    line = placed_line(PLAN, READING, "den", (2000, 50))
    assert (line.label, line.serial, line.room) == ("U02", "s-2", "den")
    assert line.pose == Pose(2000, 0, 90_000)
    assert line.hardware_revision == "R3"


def test_a_line_that_waits_for_a_serial_is_filled_and_keeps_its_plan():
    waiting = replace(LINE, serial="")
    line = placed_line(replace(PLAN, units=(waiting,)), READING, "den", None)
    assert line == replace(LINE, serial="s-2")


def test_a_unit_already_on_the_schedule_moves():
    loft = replace(ROOM, key="loft", name="Loft")
    plan = replace(PLAN, rooms=(ROOM, loft))
    line = placed_line(plan, replace(READING, serial="s-1"), "loft", None)
    assert (line.label, line.room, line.areas) == ("U01", "loft", ())


def test_a_room_that_is_not_there_or_a_module_that_no_plan_knows_is_refused():
    with pytest.raises(PlanError, match="no room 'attic'"):
        placed_line(PLAN, READING, "attic", None)
    odd = replace(READING, sheet={"module.type": "sonar"})
    with pytest.raises(PlanError, match="sonar"):
        placed_line(PLAN, odd, "den", None)
