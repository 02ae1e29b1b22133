"""Where people are at each tick, by hand."""

import pytest

from fleet.simulator.people import SITTING_MM, SWAY_MM, Person, Stop, route_of
from fleet.simulator.stillness import is_lost

# 1200 mm/s: (0,0) → (2400,0) takes 2 s, then 3 s there, then (2400,1200) after 1 s more.
LEGS = route_of((0, 0), [Stop((2400, 0), 3.0), Stop((2400, 1200))], 1200.0)
WALKER = Person(0, "ground", 100, LEGS)


@pytest.mark.parametrize(
    ("tick", "place"),
    [(100, (0, 0)), (110, (1200, 0)), (125, (2400, 0)), (155, (2400, 600)), (500, (2400, 1200))],
)
def test_a_walker_is_where_speed_and_dwell_say(tick, place):
    assert WALKER.place_at(tick) == pytest.approx(place)


def test_a_route_ends_when_its_last_leg_is_over():
    assert WALKER.ends_tick == 160


def test_a_walker_has_a_speed_and_somebody_who_waits_has_none():
    walking, waiting = WALKER.body_at(110), WALKER.body_at(130)
    assert (walking.velocity_x, walking.velocity_y) == pytest.approx((1200, 0))
    assert (waiting.velocity_x, waiting.velocity_y) == (0, 0)


def test_without_a_start_somebody_appears_at_the_first_stop():
    assert route_of(None, [Stop((5, 6))], 1200.0)[0].end_s == 0


def test_somebody_who_sits_only_sways():
    sitting = WALKER.seated(130, 10.0)
    places = [sitting.body_at(tick).x for tick in range(130, 230)]
    assert max(abs(x - 2400) for x in places) == pytest.approx(SWAY_MM, abs=0.1)
    assert (sitting.body_at(140).still_ticks, sitting.body_at(140).height) == (10, SITTING_MM)
    assert sitting.ends_tick == 230


def test_no_gap_is_longer_than_the_truth_says_and_one_is_as_long():
    lost = "".join(".x"[is_lost(41, tick, key=5)] for tick in range(10_000))
    gaps = [len(gap) for gap in lost.split(".") if gap]
    assert max(gaps) == 410
    assert min(gaps[:-1]) >= 410 // 3
    assert lost.startswith("." * 150)


def test_without_a_gap_nobody_is_lost():
    assert not any(is_lost(0, tick, key=5) for tick in range(1000))
