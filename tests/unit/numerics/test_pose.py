"""Poses fitted from points known in both frames."""

import numpy as np
import pytest

from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.numerics.frames import to_plan
from fleet.numerics.pose import fit_both, fit_rigid, fit_robust, pose_of, spread_mm

CORNERS = np.array([[-1500.0, 800.0], [1700.0, 900.0], [1600.0, 4200.0], [-1400.0, 4000.0]])
POSE = Pose(2200, 4300, 255_000, upside_down=False, height_mm=2100)


def lap(seed: int, count: int = 200) -> np.ndarray:
    """Return places all over a room in the frame of a unit."""
    return np.random.default_rng(seed).uniform((-2000, 500), (2000, 5000), (count, 2))


@pytest.mark.parametrize("pose", [POSE, POSE.mirrored(), Pose(0, 0, 0), Pose(-5, 7, 90_000)])
def test_the_pose_of_exact_corners_comes_back(pose):
    plan = to_plan(CORNERS, pose)
    fit = fit_rigid(CORNERS, plan, mirrored=pose.upside_down)
    assert pose_of(fit, pose.height_mm) == pose
    assert fit.worst_mm < 1e-6
    assert fit.apply(CORNERS) == pytest.approx(plan)


def test_the_mirrored_fit_alone_explains_a_unit_upside_down():
    reported = lap(1) + np.random.default_rng(2).normal(0, 120, (200, 2))
    direct, mirrored = fit_both(reported, to_plan(lap(1), POSE.mirrored()))
    assert (direct.mirrored, mirrored.mirrored) == (False, True)
    assert mirrored.rms_mm < 300
    assert direct.rms_mm > 1000


def test_a_tenth_of_wrong_points_hardly_moves_the_robust_fit():
    plan = to_plan(lap(3), POSE)
    reported = lap(3) + np.random.default_rng(4).normal(0, 100, (200, 2))
    reported[::10] += (2500.0, 0.0)
    plain = pose_of(fit_rigid(reported, plan, mirrored=False), 2100)
    robust = fit_robust(reported, plan, mirrored=False)
    pose = pose_of(robust, 2100)
    assert np.hypot(pose.x_mm - POSE.x_mm, pose.y_mm - POSE.y_mm) < 40
    assert np.hypot(plain.x_mm - POSE.x_mm, plain.y_mm - POSE.y_mm) > 150
    assert robust.worst_mm > 2000  # the residuals still tell of the wrong points


def test_the_robust_fit_keeps_points_that_span_a_plane():
    # Of five points only one gives the shape its breadth. It is wrong by 1.2 m; without it the
    # rest lies in a line, so it is kept and shows in the residuals.
    source = np.array([[0.0, 0], [1000, 0], [2000, 0], [3000, 0], [1500, 1500]])
    target = source.copy()
    target[4] += (0.0, 1200.0)
    fit = fit_robust(source, target, mirrored=False)
    assert fit.worst_mm > 500


def test_weights_choose_what_counts():
    target = CORNERS + np.array([100.0, 0.0])
    source = np.vstack([CORNERS, [[0.0, 9000.0]]])
    wrong = np.vstack([target, [[5000.0, 0.0]]])
    fit = fit_rigid(source, wrong, mirrored=False, weights=np.array([1.0, 1, 1, 1, 0]))
    assert fit.translation_mm == pytest.approx((100.0, 0.0))
    assert fit.worst_mm == pytest.approx(np.hypot(4900, 9000))


def test_spread_is_measured_across_the_narrow_way():
    # Two rows 400 mm apart: each point lies 200 mm from the middle line.
    rows = np.array([[0.0, 0], [5000, 0], [0, 400], [5000, 400]])
    assert spread_mm(rows) == pytest.approx(200.0)
    assert spread_mm(np.array([[0.0, 0], [1000, 1000], [3000, 3000]])) == pytest.approx(0, abs=1e-6)
    assert spread_mm(rows[:2]) == 0.0


@pytest.mark.parametrize(
    ("source", "target", "reason"),
    [
        (CORNERS, CORNERS[:3], "4 reported points were given for 3"),
        (CORNERS[:2], CORNERS[:2], "too few"),
        (np.empty((0, 2)), np.empty((0, 2)), "too few"),
        (CORNERS * (0.02, 1.0), CORNERS, "in a line"),
        (CORNERS, CORNERS * (0.02, 1.0), "in a line"),
        (CORNERS * np.nan, CORNERS, "no number"),
        (CORNERS, CORNERS * np.inf, "no number"),
    ],
)
@pytest.mark.parametrize("fit", [fit_rigid, fit_robust])
def test_points_that_tell_no_pose_are_refused(source, target, reason, fit):
    with pytest.raises(PlanError, match=reason):
        fit(source, target, mirrored=False)
