"""Bounds of rates at their edges; published figures stand in tests/published."""

import pytest

from fleet.model.errors import PlanError
from fleet.numerics.rates import lower_rate, toggle_p, upper_rate


def test_a_bound_scales_with_the_exposure():
    assert upper_rate(3, 10.0) == pytest.approx(upper_rate(3, 1.0) / 10)
    assert lower_rate(3, 10.0) == pytest.approx(lower_rate(3, 1.0) / 10)


def test_no_events_bound_the_rate_from_above_alone():
    assert lower_rate(0, 10.0) == 0.0
    assert upper_rate(0, 10.0) > 0.0


def test_the_rate_lies_between_its_bounds():
    assert lower_rate(5, 2.0) < 2.5 < upper_rate(5, 2.0)


def test_a_toggle_without_events_shows_nothing():
    assert toggle_p(0, 0, 1.0, 1.0) == 1.0
    assert toggle_p(0, 6, 1.0, 1.0) == 1.0


def test_a_toggle_allows_for_unequal_times():
    # On for three quarters of the time: 2 of 2 events fall there with (3/4)² by chance.
    assert toggle_p(2, 0, 3.0, 1.0) == pytest.approx(9 / 16)


@pytest.mark.parametrize("asked", [(-1, 1.0, 0.9), (1, 0.0, 0.9), (1, 1.0, 1.0), (1, 1.0, 0.0)])
@pytest.mark.parametrize("bound", [upper_rate, lower_rate])
def test_impossible_counts_are_refused(bound, asked):
    with pytest.raises(PlanError, match="give no rate"):
        bound(*asked)


@pytest.mark.parametrize("asked", [(-1, 0, 1, 1), (0, -1, 1, 1), (1, 1, 0, 1), (1, 1, 1, 0)])
def test_an_impossible_toggle_is_refused(asked):
    with pytest.raises(PlanError, match="give no rate"):
        toggle_p(*asked)
