import pytest

from ui.presenters.words import (
    age_words,
    count_words,
    is_old,
    item_words,
    length_words,
    value_words,
)


@pytest.mark.parametrize(
    ("age_s", "words"),
    [
        (None, "never"),
        (-0.01, "0.0 s"),
        (0.1, "0.1 s"),
        (12.4, "12 s"),
        (190, "3 min"),
        (7300, "2 h"),
        (4 * 86400 + 5, "4 d"),
    ],
)
def test_age_in_words(age_s, words):
    assert age_words(age_s) == words


def test_two_seconds_without_a_report_look_old():
    assert [is_old(age) for age in (None, 2.1, 2.0)] == [True, True, False]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("setting.hold_time_s", 30, "30 s"),
        ("setting.max_distance_mm", 1750, "1.75 m"),
        ("setting.sensitivity_percent", 40, "40 %"),
        ("signal_dbm", -82, "−82 dBm"),
        ("setting.indicator_light", True, "on"),
        ("setting.indicator_light", False, "off"),
        ("setting.odd", -3, "−3"),
        ("build.version", "2.1.3", "2.1.3"),
        ("setting.hold_time_s", None, "none"),
        ("areas.1.outline", "-500,0 1250,0 1250,1000 -500,1000", "1.75 × 1.00 m from −0.50, 0.00"),
        ("areas.1.outline", "no outline", "no outline"),
        ("areas.1.outline", "", "no corners"),
    ],
)
def test_value_in_words(key, value, words):
    assert value_words(key, value) == words


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("setting.hold_time_s", "Hold time"),
        ("setting.max_distance_mm", "Max distance"),
        ("areas.2.outline", "Area 2, outline"),
        ("areas.odd", "areas odd"),
        ("build.version", "Build version"),
        ("odd", "odd"),
    ],
)
def test_item_in_words(key, words):
    assert item_words(key) == words


def test_counts_and_lengths():
    assert (count_words(1, "room"), count_words(2, "room")) == ("1 room", "2 rooms")
    assert count_words(2, "match", "matches") == "2 matches"
    assert length_words(-40) == "−0.04 m"
