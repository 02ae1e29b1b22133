from dataclasses import replace

import pytest

from fleet.jobs.comparing import agree, compare, compare_unit, with_standing
from fleet.model.geometry import Pose
from fleet.model.sheets import Standing
from tests.unit.jobs.invented import LINE, unit

ITEM = "setting.hold_time_s"
OUTLINE = "areas.sofa.outline"


@pytest.mark.parametrize(
    ("planned", "found", "as_left", "standing"),
    [
        (30, None, 30, Standing.UNREADABLE),
        (None, 30, None, Standing.UNKNOWN),
        (30, 30, 120, Standing.SAME),
        (30, 120, 120, Standing.TO_APPLY),
        (30, 120, None, Standing.TO_APPLY),
        (30, 120, 30, Standing.CHANGED_ON_SITE),
        (None, 120, 30, Standing.CHANGED_ON_SITE),
        (None, 30, 30, Standing.SAME),
        (30, 120, 60, Standing.CONFLICT),
    ],
)
def test_an_item_stands_as_its_three_sheets_say(planned, found, as_left, standing):
    def sheet(value):
        return {} if value is None else {ITEM: value}

    (item,) = compare(sheet(planned), sheet(found), sheet(as_left))

    assert item.standing is standing
    assert (item.planned, item.found, item.as_left) == (planned, found, as_left)


def test_coordinates_within_50_mm_are_the_same():
    assert agree(OUTLINE, "0,0 1000,0 1000,1000 0,1000", "50,-50 1000,0 1000,1050 0,1000")
    assert not agree(OUTLINE, "0,0 1000,0 1000,1000 0,1000", "51,0 1000,0 1000,1000 0,1000")


def test_outlines_of_other_length_or_garbled_differ():
    assert not agree(OUTLINE, "0,0 1,0 1,1", "0,0 1,0 1,1 0,1")
    assert not agree(OUTLINE, "0,0 1,0 1,1", "nonsense")


def test_numbers_outside_outlines_have_no_tolerance():
    assert not agree(ITEM, 30, 31)


def test_a_switch_is_not_a_number():
    assert not agree("setting.indicator_light", True, 1)


def test_standings_are_picked_in_the_order_of_keys():
    items = compare({"b": 1, "a": 1, "c": 1}, {"a": 2, "b": 1, "c": 2}, {"a": 2, "b": 1, "c": 1})
    assert [item.key for item in with_standing(items, Standing.TO_APPLY)] == ["a"]
    assert [item.key for item in items] == ["a", "b", "c"]


@pytest.mark.parametrize(
    ("key", "one", "other", "same"),
    [
        ("mount.x_mm", 1000, 1300, True),
        ("mount.x_mm", 1000, 1301, False),
        ("mount.y_mm", -100, 200, True),
        ("mount.height_mm", 2000, 2050, True),
        ("mount.height_mm", 2000, 2051, False),
        ("mount.heading_mdeg", 355_000, 5_000, True),
        ("mount.heading_mdeg", 355_000, 5_001, False),
        ("mount.heading_mdeg", 0, 350_000, True),
        ("mount.heading_mdeg", 0, 730_001, False),
        ("mount.x_mm", 1, True, False),
        ("mount.x_mm", 1000, "1000", False),
        ("mount.upside_down", True, False, False),
    ],
)
def test_a_mount_has_tolerances_of_its_own(key, one, other, same):
    assert agree(key, one, other) == same
    assert agree(key, other, one) == same


def test_a_setting_that_is_called_an_outline_has_no_tolerance():
    assert not agree("setting.outline", "0,0 9,0 9,9", "1,0 9,0 9,9")


def test_areas_that_cover_the_same_floor_under_other_ids_are_two():
    items = compare({"areas.a.outline": "0,0 9,0 9,9"}, {"areas.b.outline": "0,0 9,0 9,9"}, None)
    assert [item.standing for item in items] == [Standing.UNREADABLE, Standing.UNKNOWN]


def mounts(**changes):
    items = compare_unit(replace(unit(), **changes))
    return {item.key: item.standing for item in items if item.key.startswith("mount.")}


def test_a_mount_that_no_walk_showed_is_unreadable():
    assert set(mounts().values()) == {Standing.UNREADABLE}
    assert set(mounts(found=None).values()) == {Standing.UNREADABLE}


def test_a_mount_as_walked_is_held_against_the_schedule_but_for_its_height():
    pose = LINE.pose
    near = Pose(pose.x_mm + 200, pose.y_mm, 359_000, height_mm=pose.height_mm)
    assert mounts(mount=near) == {
        "mount.x_mm": Standing.SAME,
        "mount.y_mm": Standing.SAME,
        "mount.heading_mdeg": Standing.SAME,
        "mount.upside_down": Standing.SAME,
        "mount.height_mm": Standing.UNREADABLE,
    }
    turned = mounts(mount=near.mirrored())
    assert turned["mount.upside_down"] is Standing.TO_APPLY
