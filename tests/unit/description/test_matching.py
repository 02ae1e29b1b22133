import json
from datetime import UTC, datetime

import pytest

from fleet.description.filling import fill
from fleet.description.matching import (
    Announcement,
    announcement_filters,
    announces,
    base_url,
    gather,
    matches,
    needed,
    service_types,
)
from fleet.description.things import read_thing
from fleet.model.errors import UnitError
from fleet.model.units import Sighting
from tests.unit.description.profile_samples import broker_profile, profile

NOW = datetime(2026, 1, 2, tzinfo=UTC)
TXT = {"speaks": "2", "plate": "K-5"}


def sighting(
    url="http://192.0.2.7:8080/", service_type="_wd-small._tcp", txt=TXT, name="Small unit"
):
    return Sighting(name, url, NOW, service_type=service_type, txt=txt)


@pytest.mark.parametrize(
    ("service_type", "txt", "fits"),
    [
        ("_wd-small._tcp", {"speaks": "1"}, True),
        ("_WD-Small._tcp", {"SPEAKS": "2", "more": "x"}, True),
        ("_wd-small._tcp", {"speaks": "3"}, False),
        ("_wd-small._tcp", {}, False),
        ("_wot._tcp", {"speaks": "1"}, False),
        ("", {"speaks": "1"}, False),
    ],
)
def test_a_unit_is_recognised_by_what_it_advertises(service_type, txt, fits):
    assert matches(profile(), sighting(service_type=service_type, txt=txt)) is fits


def test_a_profile_without_a_match_fits_nothing_by_itself():
    assert not matches(broker_profile(), sighting(service_type=""))
    assert not announces(profile(), "")


@pytest.mark.parametrize(
    ("topic", "fits"),
    [
        ("wd/K-5/here", True),
        ("wd//here", True),
        ("wd/K-5/there", False),
        ("wd/K-5", False),
        ("wd/K/5/here", False),
    ],
)
def test_an_announcement_is_recognised_by_its_topic(topic, fits):
    assert announces(broker_profile(), topic) is fits


def test_what_is_listened_for_is_named_once():
    both = [profile(), broker_profile(), profile()]
    assert service_types(both) == ("_wd-small._tcp",)
    assert announcement_filters(both) == ("wd/+/here",)


def test_each_path_is_asked_once():
    assert needed(profile()) == ("/can",)
    twice = profile(('"title": "Unit {{SERIAL}}"', '"title": "{{AGAIN}}"'), ('"SERIAL": {', AGAIN))
    assert needed(twice) == ("/can",)


AGAIN = '"AGAIN": {"from": "http", "path": "/can", "pointer": "/name"}, "SERIAL": {'


def test_the_values_are_gathered_from_all_that_a_unit_said():
    assert gather(profile(), sighting(), {"/can": {"reach": {"mm": 6000}}}) == {
        "HOST": "192.0.2.7",
        "PORT": 8080,
        "SERIAL": "K-5",
        "REACH": 6000,
    }


def test_the_name_of_the_advert_and_the_profiles_own_word_are_values():
    by_name = profile(
        ('{"from": "txt", "key": "Plate"}', '{"from": "advert"}'),
        ('"http", "path": "/can", "pointer": "/reach/mm"', '"const", "value": 5'),
    )
    said = gather(by_name, sighting(), {})
    assert (said["SERIAL"], said["REACH"]) == ("Small unit", 5)


@pytest.mark.parametrize(
    ("heard", "answers", "reason"),
    [
        (sighting(txt={"speaks": "1"}), {"/can": {"reach": {"mm": 1}}}, "its advert has no plate"),
        (sighting(), {"/can": {"reach": 5}}, "/can has nothing at /reach/mm"),
        (sighting(), {}, "/can has nothing at /reach/mm"),
        (sighting(url="nonsense"), {}, "no host"),
        (sighting(url="http://192.0.2.7:x/"), {}, "no host"),
    ],
)
def test_what_a_unit_does_not_say_is_named(heard, answers, reason):
    with pytest.raises(UnitError, match=reason):
        gather(profile(), heard, answers)


BROKER = sighting(url="mqtt://192.0.2.9/", service_type="", txt={})


def test_a_unit_behind_a_broker_is_what_it_announces():
    said = gather(broker_profile(), BROKER, {}, Announcement("wd/K-5/here", b'{"reach": 6000}'))
    assert said == {"HOST": "192.0.2.9", "PORT": 1883, "SERIAL": "K-5", "REACH": 6000}
    url = base_url(broker_profile(), BROKER)
    unit = read_thing(fill(broker_profile(), said), url)
    assert (url, unit.complaints) == ("mqtt://192.0.2.9:1883/", ())


@pytest.mark.parametrize(
    ("announcement", "reason"),
    [
        (None, "it announced nothing"),
        (Announcement("wd", b"{}"), "has no level 2"),
        (Announcement("wd/K-5/here", b"{}"), "nothing at /reach"),
        (Announcement("wd/K-5/here", b""), "can't be read"),
    ],
)
def test_an_announcement_that_says_too_little_is_refused(announcement, reason):
    with pytest.raises(UnitError, match=reason):
        gather(broker_profile(), BROKER, {}, announcement)


def test_a_unit_counts_as_described_at_its_origins_root():
    assert base_url(profile(), sighting(url="http://[2001:db8::5]:81/x/y")) == (
        "http://[2001:db8::5]:81/"
    )
    document = fill(profile(), gather(profile(), sighting(), {"/can": {"reach": {"mm": 6000}}}))
    unit = read_thing(document, base_url(profile(), sighting()))
    assert unit.complaints == ()
    assert json.loads(document)["base"] == unit.url


def test_where_no_port_is_named_it_is_the_usual_one_of_how_the_unit_is_spoken_to():
    secure = profile(('"base": "http://', '"base": "https://'))
    bare = sighting(url="http://192.0.2.7/")
    assert base_url(secure, bare) == "https://192.0.2.7:443/"
    assert gather(secure, bare, {"/can": {"reach": {"mm": 1}}})["PORT"] == 443
