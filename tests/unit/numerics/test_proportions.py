"""Bounds of proportions at their edges; published figures stand in tests/published."""

import pytest

from fleet.model.errors import PlanError
from fleet.numerics.proportions import clopper_pearson, lower_bound, success_run, wilson


def test_with_nothing_tried_nothing_is_proved():
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    assert wilson(0, 0) == (0.0, 1.0)
    assert lower_bound(0, 0) == 0.0


def test_all_of_all_reaches_one_and_none_reaches_nought():
    assert clopper_pearson(10, 10)[1] == 1.0
    assert clopper_pearson(0, 10)[0] == 0.0
    assert lower_bound(0, 10) == 0.0
    assert wilson(10, 10)[1] == pytest.approx(1.0)


def test_the_one_sided_bound_is_the_two_sided_one_of_twice_the_doubt():
    assert lower_bound(28, 30) == pytest.approx(clopper_pearson(28, 30, 0.90)[0])


def test_the_walk_trial_passes_at_its_designed_counts():
    # Levels of the walk trial: 29 of 29 or 45 of 46 show 0.90, one fewer does not.
    assert lower_bound(29, 29) >= 0.90 > lower_bound(28, 28)
    assert lower_bound(45, 46) >= 0.90 > lower_bound(44, 45)


def test_a_success_run_is_the_least_that_is_enough():
    for failures in range(6):
        enough = success_run(0.95, 0.90, failures)
        assert lower_bound(enough - failures, enough) >= 0.90
        assert lower_bound(enough - 1 - failures, enough - 1) < 0.90


@pytest.mark.parametrize(
    ("successes", "trials", "confidence"), [(-1, 3, 0.9), (4, 3, 0.9), (1, 3, 1.0), (1, 3, 0.0)]
)
@pytest.mark.parametrize("bound", [clopper_pearson, wilson, lower_bound])
def test_impossible_counts_are_refused(bound, successes, trials, confidence):
    with pytest.raises(PlanError, match="no count of trials"):
        bound(successes, trials, confidence)


@pytest.mark.parametrize("asked", [(0.0, 0.9, 0), (0.9, 1.0, 0), (0.9, 0.9, -1)])
def test_an_impossible_success_run_is_refused(asked):
    with pytest.raises(PlanError):
        success_run(*asked)
