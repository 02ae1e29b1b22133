"""The unit's frame against the plan, pinned to one example worked by hand."""

import numpy as np
import pytest

from fleet.model.geometry import Pose
from fleet.numerics.frames import floor_distance_mm, to_plan, to_sensor

# A unit at plan (1000, 2000) looks along plan x: its heading is 0.
# Away is then (1, 0). Its right is away turned clockwise, which is down the page: (0, −1).
# It reports x = 300 to its right and y = 500 away:
# plan = (1000, 2000) + 300 · (0, −1) + 500 · (1, 0) = (1500, 1700).
# Upside-down its right becomes its left, (0, 1): (1000, 2000) + (0, 300) + (500, 0) = (1500, 2300).
EAST = Pose(1000, 2000, 0)
REPORTED = np.array([[300.0, 500.0]])


def test_a_unit_that_looks_along_x_has_its_right_down_the_page():
    assert to_plan(REPORTED, EAST) == pytest.approx(np.array([[1500.0, 1700.0]]))


def test_upside_down_its_right_is_up_the_page():
    assert to_plan(REPORTED, EAST.mirrored()) == pytest.approx(np.array([[1500.0, 2300.0]]))


def test_a_unit_that_looks_up_the_page_is_only_shifted():
    # Heading 90°: away (0, 1), right (1, 0), the plan's own axes.
    assert to_plan(REPORTED, Pose(10, 20, 90_000)) == pytest.approx(np.array([[310.0, 520.0]]))


def test_an_oblique_heading_is_in_thousandths_of_a_degree():
    # Heading 30°: away (√3/2, 1/2), so 1000 away is (866.03, 500).
    place = to_plan(np.array([[0.0, 1000.0]]), Pose(0, 0, 30_000))
    assert place == pytest.approx(np.array([[866.0254, 500.0]]))


def test_the_way_back_gives_what_was_reported():
    plan = np.array([[1500.0, 1700.0], [1500.0, 2300.0]])
    assert to_sensor(plan, EAST) == pytest.approx(np.array([[300.0, 500.0], [-300.0, 500.0]]))
    assert to_sensor(plan, EAST.mirrored())[1] == pytest.approx(REPORTED[0])


def test_no_points_stay_no_points():
    assert to_plan(np.empty((0, 2)), EAST).shape == (0, 2)
    assert to_sensor(np.empty((0, 2)), EAST).shape == (0, 2)


def test_a_slant_range_is_shortened_by_the_height():
    # 3-4-5: 5 m of slant from 3 m above is 4 m along the floor.
    assert floor_distance_mm(np.array([5000.0]), 3000.0) == pytest.approx([4000.0])
    assert floor_distance_mm(np.array([5000.0]), -3000.0) == pytest.approx([4000.0])


def test_a_range_shorter_than_the_height_is_straight_below():
    assert floor_distance_mm(np.array([1999.0, 2000.0]), 2000.0).tolist() == [0.0, 0.0]
