"""What holds for every pose, outline and cloud of points."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.geometry import Pose
from fleet.numerics.frames import to_plan, to_sensor
from fleet.numerics.outlines import distance_outside_mm, inset, inside, spill_mm
from fleet.numerics.pose import fit_robust, pose_of
from fleet.numerics.proportions import clopper_pearson, lower_bound, wilson
from fleet.numerics.rates import lower_rate, upper_rate
from fleet.numerics.robust import biweight_location

MILLIMETRES = st.integers(-50_000, 50_000)
POSES = st.builds(
    Pose, MILLIMETRES, MILLIMETRES, st.integers(0, 359_999), st.booleans(), st.just(2000)
)
SEEDS = st.integers(0, 2**32 - 1)


@st.composite
def rectangles(draw):
    """Draw a rectangle with sides from 0.1 to 6 m."""
    x, y = draw(st.integers(-5000, 5000)), draw(st.integers(-5000, 5000))
    across, along = draw(st.integers(100, 6000)), draw(st.integers(100, 6000))
    return ((x, y), (x + across, y), (x + across, y + along), (x, y + along))


def cloud(seed: int, count: int = 12) -> np.ndarray:
    """Return places in front of a unit, always spread over a room."""
    rng = np.random.default_rng(seed)
    corners = np.array([[-1500.0, 500], [1500, 500], [1500, 4000], [-1500, 4500]])
    return np.vstack([corners, rng.uniform((-2000, 500), (2000, 5000), (count - 4, 2))])


@given(pose=POSES, points=st.lists(st.tuples(MILLIMETRES, MILLIMETRES), max_size=8))
def test_points_come_back_from_the_plan(pose, points):
    reported = np.array(points, dtype=np.float64).reshape(-1, 2)
    assert to_sensor(to_plan(reported, pose), pose) == pytest.approx(reported, abs=1e-6)


@given(pose=POSES, seed=SEEDS)
def test_frames_keep_distances(pose, seed):
    points = cloud(seed)
    place = np.array([pose.x_mm, pose.y_mm])
    away = np.hypot(*(to_plan(points, pose) - place).T)
    assert away == pytest.approx(np.hypot(*points.T))


@given(pose=POSES, seed=SEEDS)
def test_a_fit_finds_any_pose(pose, seed):
    points = cloud(seed)
    fit = fit_robust(points, to_plan(points, pose), mirrored=pose.upside_down)
    assert fit.rms_mm < 1e-3
    found = pose_of(fit, pose.height_mm)
    turned = (found.heading_mdeg - pose.heading_mdeg + 180_000) % 360_000 - 180_000
    assert abs(turned) <= 1
    assert (found.x_mm, found.y_mm) == (pose.x_mm, pose.y_mm)
    assert found.upside_down == pose.upside_down


@given(pose=POSES, seed=SEEDS)
def test_the_mirrored_fit_of_mirrored_points_is_the_direct_fit(pose, seed):
    points = cloud(seed)
    plan = to_plan(points, pose) + np.random.default_rng(seed).normal(0, 80, points.shape)
    direct = fit_robust(points, plan, mirrored=False)
    mirrored = fit_robust(points * (-1, 1), plan, mirrored=True)
    assert mirrored.translation_mm == pytest.approx(direct.translation_mm, abs=1e-6)
    assert mirrored.rms_mm == pytest.approx(direct.rms_mm)


@given(area=rectangles(), room=rectangles())
def test_spill_is_nought_for_an_area_inside_and_more_for_any_other(area, room):
    spill = spill_mm(area, room)
    within = all(inside(np.array(area, dtype=np.float64), room))
    assert spill == 0.0 if within else spill > 0.0
    # A rectangle spills most at a corner.
    corners = distance_outside_mm(np.array(area, dtype=np.float64), room)
    assert spill == pytest.approx(corners.max(), abs=1e-6)


@given(room=rectangles(), by_mm=st.integers(1, 3000))
def test_an_inset_keeps_its_distance_from_every_wall(room, by_mm):
    loop = inset(room, by_mm)
    (x0, y0), (x1, y1) = room[0], room[2]
    assert (loop == ()) == (min(x1 - x0, y1 - y0) <= 2 * by_mm)
    for x, y in loop:
        assert min(x - x0, x1 - x, y - y0, y1 - y) == by_mm


@given(seed=SEEDS, shift=st.tuples(MILLIMETRES, MILLIMETRES))
def test_a_location_moves_with_its_reports(seed, shift):
    points = np.random.default_rng(seed).standard_t(2, (25, 2)) * 100
    here, there = biweight_location(points), biweight_location(points + shift)
    assert (there.x_mm - shift[0], there.y_mm - shift[1]) == pytest.approx(
        (here.x_mm, here.y_mm), abs=1e-3
    )
    assert there.used == here.used


@given(trials=st.integers(1, 500), data=st.data())
def test_intervals_hold_the_share_that_was_seen(trials, data):
    successes = data.draw(st.integers(0, trials))
    share = successes / trials
    for low, high in (clopper_pearson(successes, trials), wilson(successes, trials)):
        assert 0 <= low <= share + 1e-12
        assert share - 1e-12 <= high <= 1
    assert clopper_pearson(successes, trials)[0] <= lower_bound(successes, trials) <= share


@given(events=st.integers(0, 200), hours=st.floats(0.1, 1000))
def test_rates_lie_between_their_bounds(events, hours):
    assert lower_rate(events, hours) <= events / hours < upper_rate(events, hours)
