import itertools

import numpy as np
import pytest

from fleet.numerics.outlines import distance_outside_mm, inside
from fleet.trials.lap import ROOM_S, STAND_S, WALK_MM_S, lap_route, points_at_stands, shares
from tests.unit.trials.walks import DEN, POSES, blind, walk


def test_a_route_keeps_to_the_room_and_its_minute():
    stands = lap_route(DEN.outline_mm)
    points = np.array([stand.at_mm for stand in stands], dtype=float)
    assert inside(points, DEN.outline_mm).all()
    assert stands[0].from_s == 0.0
    assert stands[-1].until_s <= ROOM_S
    assert all(stand.until_s - stand.from_s == pytest.approx(STAND_S) for stand in stands)


def test_between_stands_the_person_walks_at_the_published_speed():
    stands = lap_route(DEN.outline_mm)
    for one, other in itertools.pairwise(stands):
        apart_mm = np.hypot(*np.subtract(other.at_mm, one.at_mm))
        assert other.from_s - one.until_s == pytest.approx(apart_mm / WALK_MM_S)


def test_a_narrow_passage_still_has_a_route_with_width():
    passage = ((0, 0), (900, 0), (900, 5000), (0, 5000))
    stands = lap_route(passage)
    assert len({stand.at_mm for stand in stands}) >= 3
    points = np.array([stand.at_mm for stand in stands], dtype=float)
    assert (distance_outside_mm(points, passage) == 0).all()


def test_a_cupboard_too_small_to_draw_in_is_stood_in_at_its_corners():
    cupboard = ((0, 0), (400, 0), (400, 400), (0, 400))
    assert {stand.at_mm for stand in lap_route(cupboard)} <= set(cupboard)


def test_the_matrix_counts_reports_that_show_somebody():
    matrix = shares([walk(DEN, {"s-den": POSES["s-den"], "s-loft": None})])
    assert matrix == {"den": {"s-den": 1.0, "s-loft": 0.0}}


def test_a_unit_without_reports_has_seen_nobody():
    empty = blind(np.empty(0))
    room_walk = walk(DEN, {"s-den": None})
    silent = type(room_walk)("den", room_walk.stands, {"s-den": empty})
    assert shares([silent]) == {"den": {"s-den": 0.0}}


def test_points_are_gathered_by_mark_over_all_rounds():
    gathered = points_at_stands(walk(DEN, {"s-den": POSES["s-den"]}), "s-den")
    assert len(gathered) == len({stand.at_mm for stand in lap_route(DEN.outline_mm)}) == 8
    assert all(len(points) >= 20 for _, points in gathered)


def test_a_hall_too_long_for_one_round_with_many_marks_gets_fewer():
    barn = ((0, 0), (12_000, 0), (12_000, 9000), (0, 9000))
    stands = lap_route(barn)
    assert {(500, 500), (11_500, 500), (11_500, 8500), (500, 8500)} <= {s.at_mm for s in stands}
