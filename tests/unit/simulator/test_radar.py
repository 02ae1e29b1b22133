"""The radar model: places by hand, shares by counting."""

from dataclasses import replace
from random import Random

import pytest

from fleet.model.geometry import Pose, Segment
from fleet.simulator.figures import HALF_SECOND_TICKS
from fleet.simulator.lines import line_of
from fleet.simulator.radar import BEST_CHANCE, Body, Dice, Target, chance_of, targets_seen
from fleet.simulator.truth import LeakyWall, Mirror, Sitter, Truth
from fleet.simulator.world import eye_of
from tests.unit.simulator.small_house import FROM_PASSAGE, FROM_STUDY, PLAN, STATIC, TRACKING, VITAL

ROOMS = {room.key: room for room in PLAN.rooms}
HALF_SECONDS = 4000


class Noiseless(Random):
    """No noise, and every chance comes true."""

    def gauss(self, *_: float) -> float:
        return 0.0

    def random(self) -> float:
        return 0.0


def eye(unit, truth=None):
    return eye_of(unit, ROOMS, truth or Truth((unit,)))


def look(eye, body, ticks=0, key=0, noise=None, openings=(), sensitivity=60, farthest=9000):
    dice = Dice(key, ticks, noise or Noiseless())
    bodies = body if isinstance(body, list) else [body]
    return targets_seen(
        eye,
        bodies,
        openings,
        dice,
        max_distance_mm=farthest,
        sensitivity_percent=sensitivity,
    )


def standing(x, y, velocity=(0.0, 0.0), number=0):
    return Body(number, x, y, *velocity, 1100.0)


def seen_share(eye, body) -> float:
    """Share of half-seconds in which a body is reported at all."""
    noise, seen = Random(3), set()
    for ticks in range(HALF_SECONDS * HALF_SECOND_TICKS):
        if look(eye, body, ticks, key=77, noise=noise):
            seen.add(ticks // HALF_SECOND_TICKS)
    return len(seen) / HALF_SECONDS


def test_a_body_is_reported_where_it_is_but_for_its_near_side():
    # From (2000, 0) looking up the page, (3500, 2000) is 1500 right and 2000 away: 2500 off (3-4-5).
    # Its near side is 100 short, 2400 = 2500 · 0.96: 1440 right, 1920 away.
    # It walks (300, 400), straight away from the unit: 500 mm/s.
    body = standing(3500, 2000, (300, 400))
    assert look(eye(TRACKING), body) == [Target(1440, 1920, 2400, 500)]


def test_upside_down_the_same_body_is_on_the_left():
    unit = eye(_with_pose(TRACKING, TRACKING.pose.mirrored()))
    assert look(unit, standing(3500, 2000))[0].x_mm == -1440


def test_range_is_slant():
    # 4000 along the floor and 3000 down is 5000 of slant, less the near side.
    unit = eye(_with_pose(TRACKING, Pose(2000, 0, 90_000, height_mm=4100)))
    assert look(unit, standing(2000, 4000))[0].range_mm == 4900


@pytest.mark.parametrize(
    ("range_share", "angle_share", "chance"),
    [
        (0.5, 0.5, BEST_CHANCE),
        (0.8, 0.8, BEST_CHANCE),
        (0.9, 0.0, BEST_CHANCE * 0.75),
        (0.0, 0.9, BEST_CHANCE * 0.75),
        (1.0, 0.0, 0.0),
        (0.0, 1.2, 0.0),
    ],
)
def test_the_chance_is_full_to_four_fifths_and_nothing_at_the_end(range_share, angle_share, chance):
    assert chance_of(range_share, angle_share) == pytest.approx(chance)


def test_nobody_is_seen_beyond_the_range_or_outside_the_view():
    assert look(eye(VITAL), standing(2100, 2500)) == []
    assert look(eye(TRACKING), standing(10, 100)) == []
    assert look(eye(TRACKING), standing(2000, -500)) == []


def test_reports_come_at_the_chance_that_the_model_says():
    noise, body = Random(5), standing(2000, 3000)
    seen = [bool(look(eye(TRACKING), body, ticks, key=9, noise=noise)) for ticks in range(10_000)]
    assert sum(seen) / len(seen) == pytest.approx(BEST_CHANCE, abs=0.005)


def test_a_wall_hides_and_an_open_door_shows():
    body = standing(5000, 2450)
    door = [line_of(FROM_STUDY), line_of(FROM_PASSAGE)]
    unit = eye(_with_pose(TRACKING, Pose(1000, 2450, 0, height_mm=1100)))
    assert look(unit, body) == []
    assert look(unit, body, openings=door) != []


def test_a_leak_passes_its_share_of_half_seconds_and_only_one_way():
    leak = LeakyWall("ground", Segment((4060, 0), (4060, 5000)), "study", 340_000)
    looking_out = eye(_with_pose(TRACKING, Pose(1000, 2450, 0, height_mm=1100)), Truth((), (leak,)))
    assert seen_share(looking_out, standing(5000, 2450)) == pytest.approx(0.34, abs=0.025)
    looking_back = eye(
        _with_pose(STATIC, Pose(6000, 2450, 180_000, height_mm=1100)), Truth((), (leak,))
    )
    assert look(looking_back, standing(3000, 2450)) == []


def test_a_mirror_shows_the_image_its_share_of_half_seconds_and_only_by_its_face():
    mirror = Mirror("ground", Segment((0, 1000), (0, 2500)), 700_000)
    unit = eye(TRACKING, Truth((), (), (mirror,)))
    # Body at (700, 3000), image at (−700, 3000): the way from (2000, 30) meets x = 0 at
    # 30 + 2970 · 2000/2700 = 2230, on the mirror. The image is (−2700, 3000) from the unit.
    both = look(unit, standing(700, 3000), key=2)
    assert [target.x_mm < -2000 for target in both] == [False, True]
    image = both[1]
    assert (image.x_mm / (image.range_mm + 100), image.y_mm / (image.range_mm + 100)) == (
        pytest.approx((-2700 / 4036.09, 3000 / 4036.09), rel=0.03)
    )
    share = _image_share(unit, standing(700, 3000))
    assert share == pytest.approx(0.7, abs=0.025)
    # From (700, 4500) the way to the image meets x = 0 at 3341: past the mirror.
    assert len(look(unit, standing(700, 4500), key=2)) == 1


def test_the_image_of_somebody_who_comes_closer_to_the_mirror_moves_too():
    mirror = Mirror("ground", Segment((0, 1000), (0, 2500)), 1_000_000)
    unit = eye(TRACKING, Truth((), (), (mirror,)))
    towards = look(unit, standing(700, 3000, (-1000, 0)))[1].speed_mm_s
    # The image moves (+1000, 0), seen along (−2700, 3000) / 4036: −669 mm/s, coming closer.
    assert towards == pytest.approx(-669, abs=1)


def test_a_mirror_shows_nobody_who_stands_behind_it():
    mirror = Mirror("ground", Segment((4000, 0), (4000, 5000)), 1_000_000)
    unit = eye(TRACKING, Truth((), (), (mirror,)))
    assert look(unit, standing(4800, 2500)) == []


def test_a_distance_only_module_reports_its_one_nearest():
    near, far = standing(5120, 2000), standing(5120, 4000, number=1)
    assert [target.range_mm for target in look(eye(STATIC), [far, near])] == [1900]
    assert (
        len(look(eye(TRACKING), [standing(2000, 1000 + 500 * n, number=n) for n in range(6)])) == 4
    )


def test_settings_filter_reports():
    body = standing(2000, 4500)
    assert look(eye(TRACKING), body, farthest=4400)
    assert not look(eye(TRACKING), body, farthest=4390)
    assert not look(eye(TRACKING), body, sensitivity=0)


def test_a_sitter_is_lost_at_times_and_a_vital_sign_module_never_loses_one():
    truth = Truth((), sitters=(Sitter("study", 41),))
    body = [Body(0, 1000, 2500, 0.0, 0.0, 1100.0, still) for still in range(2000)]
    tracking = [bool(look(eye(TRACKING, truth), sitting)) for sitting in body]
    assert _longest_run(tracking, value=False) == 410
    assert all(look(eye(VITAL, truth), sitting) for sitting in body)


def _longest_run(values, *, value) -> int:
    longest = run = 0
    for each in values:
        run = run + 1 if each == value else 0
        longest = max(longest, run)
    return longest


def _image_share(unit, body) -> float:
    halves = [
        len(look(unit, body, half * HALF_SECOND_TICKS, key=77)) == 2 for half in range(HALF_SECONDS)
    ]
    return sum(halves) / HALF_SECONDS


def _with_pose(unit, pose):
    return replace(unit, pose=pose)
