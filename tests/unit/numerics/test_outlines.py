"""Outlines: sense, inside, spill, inset."""

import numpy as np
import pytest

from fleet.model.errors import PlanError
from fleet.numerics.outlines import (
    bounds_mm,
    distance_outside_mm,
    inset,
    inside,
    intersects,
    is_simple,
    signed_area_mm2,
    spill_mm,
)

ROOM = ((0, 0), (4000, 0), (4000, 3000), (0, 3000))
BOW_TIE = ((0, 0), (1000, 1000), (1000, 0), (0, 1000))
# A U: 3 × 3 m with a notch 1 m wide and 2 m deep from the top.
U_ROOM = (
    (0, 0),
    (3000, 0),
    (3000, 3000),
    (2000, 3000),
    (2000, 1000),
    (1000, 1000),
    (1000, 3000),
    (0, 3000),
)


def test_counter_clockwise_is_positive():
    assert signed_area_mm2(ROOM) == 12e6
    assert signed_area_mm2(ROOM[::-1]) == -12e6
    assert signed_area_mm2(()) == 0


def test_an_outline_is_simple_unless_it_crosses_itself_or_encloses_nothing():
    assert is_simple(ROOM)
    assert is_simple(U_ROOM)
    assert not is_simple(BOW_TIE)
    assert not is_simple(ROOM[:2])
    assert not is_simple(((0, 0), (1, 0), (2, 0)))


def test_the_edge_belongs_to_the_inside():
    points = np.array([[1.0, 1.0], [0.0, 1500.0], [4000.0, 3000.0], [4001.0, 1.0]])
    assert inside(points, ROOM).tolist() == [True, True, True, False]


def test_the_notch_of_a_room_is_outside():
    assert inside(np.array([[1500.0, 2000.0], [1500.0, 500.0]]), U_ROOM).tolist() == [False, True]


def test_nothing_is_inside_of_nothing():
    assert inside(np.array([[0.0, 0.0]]), ()).tolist() == [False]


def test_no_points_give_no_answers():
    assert inside(np.empty((0, 2)), ROOM).tolist() == []
    assert distance_outside_mm(np.empty((0, 2)), ROOM).tolist() == []


def test_distance_outside_is_to_the_nearest_wall_or_corner():
    points = np.array([[2000.0, 1000.0], [4500.0, 1000.0], [4300.0, 3400.0]])
    assert distance_outside_mm(points, ROOM) == pytest.approx([0.0, 500.0, 500.0])


@pytest.mark.parametrize("outline", [(), ROOM[:1], ROOM[:2]])
def test_too_few_corners_have_no_distance(outline):
    with pytest.raises(PlanError, match="at least three"):
        distance_outside_mm(np.array([[0.0, 0.0]]), outline)


def test_an_area_within_the_room_spills_nothing():
    assert spill_mm(ROOM, ROOM) == 0.0
    assert spill_mm(((500, 500), (900, 500), (900, 900)), ROOM) == 0.0


def test_an_area_past_a_wall_spills_as_far_as_it_reaches():
    area = ((3000, 1000), (4400, 1000), (4400, 2000), (3000, 2000))
    assert spill_mm(area, ROOM) == 400.0


def test_an_area_past_a_corner_spills_across_the_corner():
    area = ((3000, 2000), (4300, 2000), (4300, 3400), (3000, 3400))
    assert spill_mm(area, ROOM) == pytest.approx(500.0)


def test_an_area_over_a_notch_spills_most_in_its_middle():
    # The notch is 1 m wide: its middle is 500 mm from either side, though each corner of the part
    # that sticks out lies on a wall.
    area = ((900, 1500), (2100, 1500), (2100, 2500), (900, 2500))
    assert spill_mm(area, U_ROOM) == pytest.approx(500.0, abs=0.5)


def test_a_crossed_area_spills_as_the_floor_that_it_encloses():
    crossed = tuple((x + 3500, y) for x, y in BOW_TIE)
    assert spill_mm(crossed, ROOM) == 500.0


def test_an_area_in_another_room_spills_altogether():
    assert spill_mm(((9000, 0), (9100, 0), (9100, 100)), ROOM) == pytest.approx(5100.0)


def test_an_inset_leaves_the_loop_along_the_walls():
    assert sorted(inset(ROOM, 500)) == [(500, 500), (500, 2500), (3500, 500), (3500, 2500)]
    assert signed_area_mm2(inset(ROOM[::-1], 500)) == 6e6


def test_an_inset_of_a_narrow_room_leaves_nothing():
    assert inset(ROOM, 1600) == ()
    assert inset(ROOM, 1500) == ()


def test_an_inset_that_falls_apart_keeps_the_largest_piece():
    # Two rooms joined by a passage 600 mm wide: 400 mm off the walls only the larger remains.
    rooms = (
        (0, 0),
        (3000, 0),
        (3000, 1200),
        (4000, 1200),
        (4000, 0),
        (6000, 0),
        (6000, 3000),
        (4000, 3000),
        (4000, 1800),
        (3000, 1800),
        (3000, 3000),
        (0, 3000),
    )
    assert sorted(inset(rooms, 400)) == [(400, 400), (400, 2600), (2600, 400), (2600, 2600)]


def test_a_piece_thinner_than_a_millimetre_is_nothing():
    assert inset(ROOM, 1499.9) == ()


def test_outlines_that_touch_meet():
    assert intersects(ROOM, ((4000, 0), (5000, 0), (5000, 1000)))
    assert not intersects(ROOM, ((4001, 0), (5000, 0), (5000, 1000)))
    assert not intersects(ROOM, ())
    assert not intersects((), ROOM)


def test_bounds_are_the_least_and_the_greatest():
    assert bounds_mm(((3, 4), (5, 11), (12, 8), (9, 5), (5, 6))) == (3, 4, 12, 11)
    with pytest.raises(PlanError, match="no bounds"):
        bounds_mm(())
