"""Bodies followed from report to report, at ten reports a second."""

import numpy as np
import pytest

from fleet.numerics.tracking import COAST_S, HOLD_S, Track, Tracks, step

WALK_MM = 120.0  # 1.2 m/s at 10 Hz


def follow(reports, state=None, start_s: float = 0.0):
    """Feed reports at 10 Hz and return the state after the last."""
    state = Tracks() if state is None else state
    for index, targets in enumerate(reports):
        state = step(state, start_s + index / 10, targets)
    return state


def confirmed(state: Tracks) -> list[Track]:
    return [track for track in state.tracks if track.confirmed]


def walk(count: int, x_mm: float = 0.0):
    return [[(x_mm, 1000.0 + WALK_MM * index)] for index in range(count)]


def stand(count: int):
    return [[(500.0, 2000.0)]] * count


def test_a_body_is_confirmed_by_its_sixth_hit():
    assert confirmed(follow(walk(5))) == []
    (track,) = confirmed(follow(walk(6)))
    assert (track.key, track.hits, track.born_s, track.seen_s) == (1, 6, 0.0, 0.5)


def test_two_misses_in_eight_do_not_stop_a_birth():
    reports = walk(8)
    reports[2] = reports[5] = []
    (track,) = confirmed(follow(reports))
    assert (track.key, track.hits, track.misses) == (1, 6, 0)


def test_a_third_miss_before_that_does():
    reports = walk(8)
    reports[2] = reports[4] = reports[5] = []
    assert all(track.key != 1 for track in follow(reports).tracks)


def test_a_walker_is_followed_with_his_velocity():
    state = follow(walk(30))
    (track,) = state.tracks
    assert (track.x_mm, track.y_mm) == pytest.approx((0.0, 1000 + WALK_MM * 29), abs=20)
    assert (track.vx_mm_s, track.vy_mm_s) == pytest.approx((0.0, 1200.0), abs=50)
    assert not track.held
    assert state.next_key == 2


def test_noise_does_not_split_a_walker():
    noise = np.random.default_rng(5).normal(0, 100, (60, 2))
    noisy = [[(x + dx, y + dy)] for ((x, y),), (dx, dy) in zip(walk(60), noise, strict=True)]
    (track,) = confirmed(follow(noisy))
    assert track.key == 1


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_walker_in_a_circle_is_one_body_for_five_minutes(seed):
    # 1.2 m/s round 1.5 m, 10 cm of noise on each axis, every seventh report empty.
    rng = np.random.default_rng(seed)
    turns = np.arange(3000) * 0.1 * 1.2 / 1.5
    places = 1500 * np.column_stack([np.cos(turns), np.sin(turns) + 2])
    noisy = (places + rng.normal(0, 100, places.shape)).tolist()
    seen = rng.random(3000) >= 1 / 7
    state, errors, keys = Tracks(), [], set()
    for index in range(3000):
        state = step(state, index / 10, [tuple(noisy[index])] if seen[index] else [])
        for track in confirmed(state):
            keys.add(track.key)
            errors.append(np.hypot(*(places[index] - (track.x_mm, track.y_mm))))
    assert len(keys) == 1
    assert len(errors) > 2980
    assert np.sqrt(np.mean(np.square(errors))) < 130  # the reports themselves: 141 mm


def test_a_walker_who_leaves_is_let_go_soon():
    state = follow(walk(30))
    gone = follow([[]] * 12, state, 3.0)
    assert len(confirmed(gone)) == 1
    assert follow([[]] * 4, gone, 3.0 + COAST_S).tracks == ()


def test_a_still_body_is_held_in_its_place():
    state = follow(stand(40))
    (track,) = state.tracks
    assert track.held
    later = follow([[]] * 50, state, 4.0)
    (track,) = later.tracks
    assert (track.x_mm, track.y_mm, track.misses) == (500.0, 2000.0, 50)
    assert (track.vx_mm_s, track.vy_mm_s) == (0.0, 0.0)


def test_a_held_body_is_let_go_after_its_time():
    state = follow(stand(40))
    assert follow([[]], state, 3.9 + HOLD_S).tracks
    assert not follow([[]], state, 4.0 + HOLD_S).tracks


def test_a_held_body_that_shows_again_is_the_same():
    state = follow([[]] * 40, follow(stand(40)), 4.0)
    state = follow([[(700.0, 2200.0)]], state, 8.0)
    (track,) = state.tracks
    assert (track.key, track.misses, track.hits) == (1, 0, 41)


def test_a_body_seen_fewer_than_thirty_times_is_not_held():
    (track,) = follow(stand(29)).tracks
    assert not track.held


def test_two_who_pass_each_other_keep_their_keys():
    reports = [
        [(-1500 + WALK_MM * i, 2000.0), (1500 - WALK_MM * i, 2600.0)][:: 1 if i % 2 else -1]
        for i in range(26)
    ]
    first = {track.key: track.y_mm for track in follow(reports[:8]).tracks}
    last = {track.key: track.y_mm for track in follow(reports).tracks}
    assert last == pytest.approx(first, abs=60)
    assert len(last) == 2


def test_a_far_target_starts_a_track_of_its_own():
    state = step(follow(walk(10)), 1.0, [(0.0, 2200.0), (3000.0, 500.0)])
    assert [track.key for track in state.tracks] == [1, 2]
    assert state.next_key == 3


def test_a_report_that_came_too_late_is_left_out():
    state = follow(walk(10))
    assert step(state, 0.85, [(5.0, 5.0)]) is state


def test_two_reports_of_one_moment_are_both_taken():
    state = step(follow(walk(10)), 0.9, [(0.0, 1000 + 9 * WALK_MM)])
    assert [track.hits for track in state.tracks] == [11]


def test_after_a_gap_nobody_is_taken_for_the_old_body():
    state = step(follow(walk(10)), 60.0, [(0.0, 2200.0)])
    assert [track.key for track in state.tracks] == [2]


def test_an_empty_house_stays_empty():
    assert follow([[]] * 10).tracks == ()
