"""When somebody counts as there, rule by rule."""

import pytest

from fleet.model.sheets import Area, AreaKind
from fleet.simulator.occupancy import Occupancy
from fleet.simulator.radar import Target

HERE = Target(0, 1500, 1500, 0)
ELSEWHERE = Target(3000, 3000, 4243, 0)
HOLD_S = 2


def square(key, kind):
    return Area(key, key, kind, ((-500, 1000), (500, 1000), (500, 2000), (-500, 2000)))


def with_areas(*kinds):
    occupancy = Occupancy()
    occupancy.set_areas(tuple(square(str(n), kind) for n, kind in enumerate(kinds)))
    return occupancy


def occupied(occupancy, target) -> bool:
    for tick in range(3):
        occupancy.step(tick, [target], HOLD_S)
    return occupancy.overall.occupied


def test_one_report_does_not_start_it_and_two_do():
    occupancy = Occupancy()
    assert not occupancy.step(0, [HERE], HOLD_S)
    assert occupancy.step(1, [HERE], HOLD_S)
    assert occupancy.overall.occupied


@pytest.mark.parametrize(("apart_ticks", "starts"), [(4, True), (5, False)])
def test_two_reports_start_it_within_four_tenths_of_a_second(apart_ticks, starts):
    occupancy = Occupancy()
    occupancy.step(0, [HERE], HOLD_S)
    assert occupancy.step(apart_ticks, [HERE], HOLD_S) == starts


def test_the_hold_time_after_the_last_report_ends_it():
    occupancy = Occupancy()
    changes = [
        tick for tick in range(60) if occupancy.step(tick, [HERE] if tick < 10 else [], HOLD_S)
    ]
    assert changes == [1, 9 + 10 * HOLD_S]


def test_with_a_watch_area_only_targets_in_one_count():
    assert occupied(with_areas(AreaKind.WATCH), HERE)
    assert not occupied(with_areas(AreaKind.WATCH), ELSEWHERE)


def test_a_doorway_alone_never_starts_it_but_is_occupied_itself():
    occupancy = with_areas(AreaKind.DOORWAY)
    assert not occupied(occupancy, HERE)
    assert occupancy.each["0"].occupied
    assert occupied(with_areas(AreaKind.DOORWAY), ELSEWHERE)


def test_an_ignore_area_takes_away_even_from_a_watch_area():
    occupancy = with_areas(AreaKind.WATCH, AreaKind.IGNORE)
    assert not occupied(occupancy, HERE)
    assert not occupancy.each["0"].occupied


def test_a_target_in_a_watch_area_and_a_doorway_counts():
    assert occupied(with_areas(AreaKind.WATCH, AreaKind.DOORWAY), HERE)


def test_an_area_empties_with_its_count():
    occupancy = with_areas(AreaKind.DOORWAY)
    occupancy.step(0, [HERE], HOLD_S)
    occupancy.step(1, [], HOLD_S)
    assert occupancy.each["0"].count == 0
