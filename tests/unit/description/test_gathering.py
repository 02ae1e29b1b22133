"""Readings that come one at a time become reports."""

import json

import pytest

from fleet.description.frames import ReportReader
from fleet.description.gathering import Gathering
from fleet.description.things import read_thing
from fleet.model.reports import Target
from tests.unit.description.samples import URL
from tests.unit.description.scattered import scattered

UNIT = read_thing(json.dumps(scattered()).encode(), URL)
FRAME, SETTINGS, AREAS = (UNIT.properties[name] for name in ("frame", "settings", "places"))
READER = ReportReader(FRAME)
ONE, TWO = Target(-500, 2100, None, None, 1), Target(1000, 3000, None, None, 2)


class House:
    """Feeds a gathering and keeps what it made."""

    def __init__(self, affordance=FRAME):
        self.gathering = Gathering(affordance)

    def says(self, now_s, **readings):
        """Return the targets of the last report that was due, None where none was."""
        made = None
        for name, value in readings.items():
            if self.gathering.take(name, value, now_s):
                whole = self.gathering.whole(now_s)
                made = READER.read(json.dumps(whole)).targets
        return made


def test_a_report_is_made_when_a_part_of_a_target_arrives():
    house = House()
    assert house.says(0.0, bodies=1) is None
    assert house.says(0.1, body1right=-50) is None
    assert house.says(0.2, body1away=210) == (ONE,)
    assert house.says(0.3, body1pace=-0.4) == (Target(-500, 2100, None, -400, 1),)
    assert house.gathering.ages_s(1.0) == pytest.approx(
        {"bodies": 1.0, "body1right": 0.9, "body1away": 0.8, "body1pace": 0.7}
    )


def test_a_part_of_a_target_that_is_not_there_makes_no_report():
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    assert house.says(0.1, body2right=100, body2away=300) is None


def test_a_count_of_none_empties_at_once_and_is_reported_as_often_as_it_comes():
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    assert house.says(0.5, bodies=0) == ()
    assert house.says(1.0, bodies=0) == ()
    assert house.says(1.1, body1right=-50) is None


def test_a_count_that_did_not_change_makes_no_report():
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    assert house.says(0.5, bodies=1) is None


def test_a_count_that_falls_takes_the_last_body_away_at_once():
    house = House()
    house.says(0.0, bodies=2, body1right=-50, body1away=210, body2right=100, body2away=300)
    assert house.says(0.5, bodies=1) == (ONE,)


def test_the_next_body_does_not_begin_where_the_last_one_was_seen():
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    house.says(0.5, bodies=0)
    assert house.says(1.0, bodies=1) is None
    assert house.says(1.1, body1right=100) is None
    assert house.says(1.2, body1away=300) == (Target(1000, 3000, None, None, 1),)


def test_a_place_that_came_just_before_its_count_stands():
    house = House()
    house.says(0.0, bodies=0)
    house.says(0.9, body1right=-50, body1away=210)
    assert house.says(1.0, bodies=1) == (ONE,)


def test_halves_of_a_place_that_came_too_far_apart_make_none():
    house = House()
    house.says(0.0, bodies=1)
    for beat in range(5):
        assert house.says(beat * 0.2, body1right=-50, body1away=210) == (ONE,)
    # Both usually come each 0.2 s, so 0.3 s apart is the bound.
    assert house.says(0.8 + 0.29, body1right=0) == (Target(0, 2100, None, None, 1),)
    assert house.says(0.8 + 0.31, body1right=-50) is None
    assert house.says(0.8 + 0.35, body1away=210) == (ONE,)


def test_the_slower_half_says_how_far_apart_is_too_far_up_to_two_seconds():
    house = House()
    house.says(0.0, bodies=1)
    house.says(0.0, body1right=-50, body1away=210)
    house.says(1.0, body1right=-50, body1away=210)
    assert house.says(2.49, body1right=0) == (Target(0, 2100, None, None, 1),)
    assert house.says(2.51, body1right=0) is None
    slow = House()
    slow.says(0.0, bodies=1, body1right=-50, body1away=210)
    slow.says(5.0, body1right=-50, body1away=210)
    assert slow.says(6.9, body1right=0) == (Target(0, 2100, None, None, 1),)
    assert slow.says(7.1, body1right=0) is None


def test_a_target_whose_parts_stopped_coming_is_no_longer_shown():
    house = House()
    both = {"body1right": -50, "body1away": 210, "body2right": 100, "body2away": 300}
    house.says(0.0, bodies=2, **both)
    assert house.says(1.0, **both) == (ONE, TWO)
    second = {name: both[name] for name in ("body2right", "body2away")}
    assert house.says(3.9, **second) == (ONE, TWO)
    assert house.says(4.1, **second) == (TWO,)


def test_empty_is_never_said_of_a_house_where_somebody_counts():
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    house.says(0.2, body1right=-50, body1away=210)
    assert house.says(9.0, body1pace=0) is None
    assert house.says(9.1, bodies=2) is None


@pytest.mark.parametrize("nonsense", [None, "none", [], {}])
def test_a_count_that_is_nonsense_says_nothing_of_anybody(nonsense):
    house = House()
    house.says(0.0, bodies=1, body1right=-50, body1away=210)
    assert house.says(0.5, bodies=nonsense) is None
    assert house.says(0.6, body1right=-50) is None
    assert house.says(0.7, bodies=1) == (ONE,)


def test_whether_anybody_has_a_place_can_be_asked():
    house = House()
    house.says(0.0, bodies=1, body1right=-50)
    assert not house.gathering.has_entry(0.0)
    house.says(0.0, body1away=210)
    assert house.gathering.has_entry(1.0)
    assert not house.gathering.has_entry(9.0)


def test_a_property_without_lists_is_due_with_every_part():
    gathering = Gathering(SETTINGS)
    assert gathering.take("reach", 45, 0.0)
    assert gathering.take("linger", 30, 1.0)
    assert gathering.whole(1.0) == {"reach": 45, "linger": 30}


def test_a_list_whose_entries_hold_what_means_absent_is_empty():
    gathering = Gathering(AREAS)
    edges = ("left", "right", "near", "far")
    assert [gathering.take(f"place1{edge}", 0, 0.0) for edge in edges] == [False] * 3 + [True]
    assert gathering.whole(0.0) == {"areas": [None, None, None]}
    # Of place 2 something is known now, but not whether it is used.
    assert not gathering.take("place2left", 0, 0.0)
    assert not gathering.take("place1far", 0, 0.0)
