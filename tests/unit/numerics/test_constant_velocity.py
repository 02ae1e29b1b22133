"""One axis of the filter."""

import pytest

from fleet.numerics.constant_velocity import gain, predict, update


def test_a_forecast_of_no_time_changes_nothing():
    assert predict((4.0, 1.0, 9.0), 0.0, 5.0) == (4.0, 1.0, 9.0)


def test_two_short_forecasts_make_one_long_one():
    once = predict((4.0, 1.0, 9.0), 0.5, 3.0)
    twice = predict(predict((4.0, 1.0, 9.0), 0.2, 3.0), 0.3, 3.0)
    assert once == pytest.approx(twice)


def test_a_report_as_sure_as_the_forecast_is_believed_by_half():
    assert gain((4.0, 2.0, 9.0), 4.0) == (0.5, 0.25)
    assert update((4.0, 2.0, 9.0), 4.0) == (2.0, 1.0, 8.5)
