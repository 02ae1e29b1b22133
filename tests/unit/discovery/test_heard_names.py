from datetime import UTC, datetime

from fleet.discovery.heard_names import CHANGES_A_WINDOW, NAMES_AN_EXPECTED, WINDOW_S, HeardNames
from fleet.model.units import Sighting

AT = datetime(2026, 11, 25, tzinfo=UTC)


def sighting(name, url="http://198.51.100.1/td", host=""):
    return Sighting(name, url, AT, host)


def full(most=2):
    heard = HeardNames(most)
    for number in range(most):
        assert heard.take(f"s{number}", sighting(f"s{number}", f"http://s{number}"), 0.0)
    return heard


def test_a_name_is_news_once_and_again_with_another_url():
    heard = HeardNames()
    assert heard.take("a", sighting("a"), 0.0)
    assert not heard.take("a", sighting("a"), 1.0)
    assert heard.take("a", sighting("a", "http://198.51.100.2/td"), 2.0)
    assert heard.sightings["a"].url == heard.url_of("a") == "http://198.51.100.2/td"


def test_a_name_that_left_is_news_when_it_comes_back():
    heard = HeardNames()
    heard.take("a", sighting("a"), 0.0)
    assert heard.leave("a") == sighting("a")
    assert heard.gone == {"a"}
    assert heard.leave("a") is None
    assert heard.take("a", sighting("a"), 1.0)
    assert heard.gone == frozenset()
    assert heard.leave("nobody") is None


def test_a_full_list_refuses_strangers_and_keeps_whom_it_heard():
    heard = full()
    assert not heard.take("s9", sighting("s9"), 0.0)
    assert heard.refused == 1
    assert set(heard.sightings) == {"s0", "s1"}


def test_who_is_expected_finds_room_in_a_full_list():
    heard = full()
    heard.expect(["Unit-1.local."], ["http://198.51.100.7/td"])
    assert heard.take("a", sighting("a", host="unit-1.local"), 0.0)
    assert heard.take("b", sighting("b", "http://198.51.100.7/td"), 0.0)


def test_an_expected_host_lets_only_a_few_names_in():
    heard = full()
    heard.expect(["unit-1.local"], [])
    told = [heard.take(f"a{n}", sighting(f"a{n}", host="unit-1.local"), 0.0) for n in range(9)]
    assert told.count(True) == NAMES_AN_EXPECTED


def test_a_name_without_a_unit_behind_it_makes_room():
    heard = full()
    heard.doubt("s1")
    heard.doubt("nobody")
    assert heard.take("s9", sighting("s9"), 0.0)
    assert set(heard.sightings) == {"s0", "s9"}


def test_a_name_that_moves_all_the_time_is_disputed_until_it_has_been_quiet():
    heard = HeardNames()
    told = [heard.take("a", sighting("a", f"http://a{n}"), 1.0) for n in range(30)]
    assert told.count(True) == CHANGES_A_WINDOW + 1
    assert heard.disputed == {"a"}
    assert heard.is_disputed("a")
    assert heard.take("a", sighting("a", "http://last"), 2.0 + WINDOW_S)
    assert not heard.disputed
