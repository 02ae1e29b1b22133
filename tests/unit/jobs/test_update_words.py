"""Sentences about an update, and what it has to leave as it was found."""

from datetime import date

from fleet.jobs.update_words import (
    disruption,
    held_items,
    lost,
    moved_items,
    not_as_found,
    old_build,
    read_back,
    support,
)
from tests.shelves import IMAGE, OLDER, OLDEST

FOUND = {
    "build.version": "2.0.4",
    "setting.hold_time_s": 45,
    "setting.indicator_light": False,
    "areas.1.label": "Seat",
    "areas.1.outline": "0,0 10,0 10,10",
}
TODAY = date(2026, 11, 25)


def test_settings_and_areas_are_held_and_the_build_is_not():
    assert "build.version" not in held_items(FOUND)
    assert not moved_items(FOUND, {**FOUND, "build.version": "2.1.3"})


def test_what_changed_or_went_is_named_and_a_setting_that_is_new_is_no_change():
    now = {**FOUND, "setting.hold_time_s": 30, "setting.new_one": 1, "areas.2.label": "X"}
    del now["setting.indicator_light"]
    moved = moved_items(FOUND, now)
    assert moved == {
        "areas.2.label": (None, "X"),
        "setting.hold_time_s": (45, 30),
        "setting.indicator_light": (False, None),
    }
    assert "setting.hold_time_s was 45 and is 30" in not_as_found(moved)


def test_what_was_read_back_is_counted():
    assert read_back(FOUND, 0) == "2 settings and 1 area read back as found"
    assert read_back(FOUND, 1).endswith("1 item of them put back")


def test_the_support_period_is_said_even_where_it_is_over_or_not_known():
    assert support(IMAGE, TODAY) == "2.1.3 is mended until 2029-06-30."
    assert "mended no longer: that ended on 2026-10-01" in support(OLDER, TODAY)
    assert "doesn't say" in support(OLDEST, TODAY)


def test_what_an_update_disrupts_is_said_for_one_and_for_many():
    assert "one unit at a time is away" in disruption(at_once=1)
    assert "up to 8 units, of different rooms, are away" in disruption(at_once=8)


def test_each_bad_end_says_what_stands_and_what_to_do():
    assert "It runs its old build 2.0.4" in old_build("it failed", "2.0.4")
    assert "Nothing more is sent to it" in lost("it hangs")
