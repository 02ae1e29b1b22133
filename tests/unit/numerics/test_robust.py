"""Where somebody stood, from scattered reports."""

import math

import numpy as np
import pytest

from fleet.model.errors import PlanError
from fleet.numerics.robust import biweight_location


def scatter(seed: int, count: int = 60) -> np.ndarray:
    return np.random.default_rng(seed).normal((1200, 3400), 100, (count, 2))


def test_clean_reports_give_about_their_mean():
    points = scatter(1)
    place = biweight_location(points)
    assert (place.x_mm, place.y_mm) == pytest.approx(tuple(points.mean(axis=0)), abs=10)
    assert place.inlier_share == place.used / 60 > 0.95


def test_a_third_of_wrong_reports_is_left_out():
    points = scatter(2)
    points[::3] += (1500.0, -900.0)
    place = biweight_location(points)
    assert math.hypot(place.x_mm - 1200, place.y_mm - 3400) < 60
    assert place.used == 40
    assert place.inlier_share == pytest.approx(2 / 3)


def test_the_standard_error_is_as_large_as_the_error():
    places = [biweight_location(scatter(seed)) for seed in range(300)]
    spread = np.std([place.x_mm for place in places])
    claimed = np.mean([place.standard_error_mm for place in places])
    # It names the worse axis and never narrows for chance correlation, so it errs upward a little.
    assert 0.95 * spread < claimed < 1.35 * spread


def test_the_standard_error_holds_for_reports_that_err_alike():
    def wander(seed: int) -> np.ndarray:
        noise = np.random.default_rng(seed).normal(0, 100, (400, 2))
        for i in range(1, 400):
            noise[i] = 0.8 * noise[i - 1] + 0.6 * noise[i]
        return noise

    places = [biweight_location(wander(seed)) for seed in range(100)]
    spread = np.std([place.x_mm for place in places])
    claimed = np.mean([place.standard_error_mm for place in places])
    assert 0.8 * spread < claimed < 1.5 * spread
    assert spread > 10  # twice and more of the 5 mm that 400 reports on their own would give


def test_identical_reports_have_no_error():
    place = biweight_location(np.full((20, 2), 500.0))
    assert (place.x_mm, place.y_mm, place.standard_error_mm) == (500.0, 500.0, 0.0)


def test_a_single_report_tells_nothing_of_its_error():
    place = biweight_location(np.array([[7.0, 9.0]]))
    assert (place.x_mm, place.y_mm, place.used) == (7.0, 9.0, 1)
    assert place.standard_error_mm == math.inf


def test_reports_all_round_have_a_large_error():
    # Eight places on a ring of 3 m: 3 m / √2 on each axis, over √8 of them, 750 mm at least.
    turns = np.linspace(0, 2 * math.pi, 9)[:-1]
    place = biweight_location(np.column_stack([np.cos(turns), np.sin(turns)]) * 3000)
    assert math.hypot(place.x_mm, place.y_mm) < 1
    assert place.standard_error_mm > 750


def test_no_reports_are_refused():
    with pytest.raises(PlanError, match="No reports"):
        biweight_location(np.empty((0, 2)))
