"""The simulator's own geometry, pinned to the same example by hand as the program's, and its walls."""

import pytest

from fleet.model.geometry import Pose, Segment
from fleet.simulator.lines import (
    BLOCKED,
    CLEAR,
    crossing,
    distance_to,
    edges_of,
    image_in,
    line_of,
    pulled_inside,
    seen_from,
    view_of,
    way_between,
)

# A unit at plan (1000, 2000) looks along plan x: its heading is 0.
# Away is then (1, 0). Its right is away turned clockwise, which is down the page: (0, −1).
# Plan (1500, 1700) is 500 away and 300 to its right; upside-down, 300 to its left.
EAST = Pose(1000, 2000, 0)
ROOM = ((0, 0), (4000, 0), (4000, 5000), (0, 5000))
WALL = (0.0, 1000.0, 2000.0, 1000.0)


def test_a_unit_that_looks_along_x_sees_what_is_down_the_page_on_its_right():
    assert seen_from(view_of(EAST), 1500, 1700) == pytest.approx((300, 500))


def test_upside_down_it_sees_it_on_its_left():
    assert seen_from(view_of(EAST.mirrored()), 1500, 1700) == pytest.approx((-300, 500))


def test_an_oblique_heading_is_in_thousandths_of_a_degree():
    # Heading 30°: away (√3/2, 1/2), so plan (866.0254, 500) is 1000 straight away.
    assert seen_from(view_of(Pose(0, 0, 30_000)), 866.0254, 500) == pytest.approx(
        (0, 1000), abs=0.001
    )


def test_a_mirror_image_stands_as_far_behind_as_the_body_before():
    # The mirror lies on x = 0; its ends don't matter for the place of the image.
    assert image_in((0, 900, 0, 3000), 700, 4000) == pytest.approx((-700, 4000))
    # In the line x = y, coordinates change places.
    assert image_in((0, 0, 10, 10), 300, 100) == pytest.approx((100, 300))


def test_a_crossing_is_a_share_of_the_way():
    assert crossing(WALL, 500, 0, 500, 4000) == pytest.approx(0.25)
    assert crossing(WALL, 500, 0, 500, 900) is None
    assert crossing(WALL, 2500, 0, 2500, 4000) is None


def test_a_wall_blocks_and_an_open_door_in_it_does_not():
    start, end = (500.0, 0.0), (500.0, 2000.0)
    assert way_between(start, end, [WALL], [], []) == BLOCKED
    assert way_between(start, end, [WALL], [(400, 1000, 900, 1000)], []) == CLEAR
    assert way_between(start, end, [WALL], [(900, 1000, 1500, 1000)], []) == BLOCKED
    assert way_between(start, (500.0, 900.0), [WALL], [], []) == CLEAR


def test_a_leak_is_named_and_works_on_both_faces_of_its_wall():
    other_face = (0.0, 1120.0, 2000.0, 1120.0)
    way = way_between((500, 0), (500, 2000), [WALL, other_face], [], [(0, 1060, 2000, 1060)])
    assert way == 0


def test_a_wall_behind_a_leak_still_blocks():
    far = (0.0, 1800.0, 2000.0, 1800.0)
    assert way_between((500, 0), (500, 2000), [WALL, far], [], [WALL]) == BLOCKED


def test_a_unit_on_a_wall_and_one_in_a_corner_look_from_inside():
    assert pulled_inside(ROOM, 2000, 0) == pytest.approx((2000, 30))
    assert pulled_inside(ROOM, 4000, 5000) == pytest.approx((3970, 4970))
    assert pulled_inside(ROOM[::-1], 4000, 5000) == pytest.approx((3970, 4970))
    assert pulled_inside(ROOM, 2000, 2000) == (2000, 2000)


def test_edges_close_the_outline():
    assert edges_of(ROOM)[-1] == (0, 5000, 0, 0)
    assert line_of(Segment((1, 2), (3, 4))) == (1, 2, 3, 4)
    assert distance_to((0, 0, 10, 0), 13, 4) == pytest.approx(5)
