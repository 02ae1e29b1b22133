import json

import pytest

from fleet.description.filling import fill
from fleet.description.things import read_thing
from fleet.model.errors import PlanError, UnitError
from tests.unit.description.profile_samples import broker_profile, profile

VALUES = {"HOST": "192.0.2.7", "PORT": 8080, "SERIAL": "K-5", "REACH": 6000}


def filled(*changes, **values):
    return json.loads(fill(profile(*changes), {**VALUES, **values}))


def test_a_filled_thing_model_is_a_description():
    document = filled()
    assert document["@type"] == ["pres:PresenceUnit"]
    assert document["title"] == "Unit K-5"
    assert document["base"] == "http://192.0.2.7:8080/"
    reach = document["properties"]["wishes"]["properties"]["reach"]
    assert reach["maximum"] == 6000
    unit = read_thing(json.dumps(document).encode(), "http://192.0.2.7:8080/")
    assert unit.complaints == ()
    assert unit.properties["plate"].forms[0].url == "http://192.0.2.7:8080/units/K-5/plate"


def test_what_only_a_thing_model_says_is_left_out():
    document = filled(
        ('"title"', '"tm:optional": ["/properties/wishes"], "version": {"model": "1"}, "title"')
    )
    assert not {"tm:optional", "version"} & document.keys()
    kept = filled(('"title"', '"version": {"instance": "2", "model": "1"}, "title"'))
    assert kept["version"] == {"instance": "2", "model": "1"}


@pytest.mark.parametrize(
    ("said", "read"), [("6000", 6000), (6000, 6000), (6000.0, 6000), ("-5", -5), ("+7", 7)]
)
def test_an_integer_may_come_as_text(said, read):
    document = filled(REACH=said)
    assert document["properties"]["wishes"]["properties"]["reach"]["maximum"] == read


@pytest.mark.parametrize(
    "said", ["6 m", "", "1.5", 1.5, True, None, [1], "9" * 21, 10**20, 1e30, "٣"]
)
def test_what_is_no_integer_is_refused(said):
    with pytest.raises(UnitError, match="REACH is no integer"):
        filled(REACH=said)


@pytest.mark.parametrize(
    ("said", "read"), [("1", True), (0, False), ("Yes", True), ("off", False), (True, True)]
)
def test_a_flag_may_come_as_a_word(said, read):
    flag = ('"pointer": "/reach/mm", "type": "integer"', '"pointer": "", "type": "boolean"')
    document = filled(flag, REACH=said)
    assert document["properties"]["wishes"]["properties"]["reach"]["maximum"] is read
    within = filled(flag, ('"Unit {{SERIAL}}"', '"{{REACH}}"'), REACH=said)
    assert within["title"] is read
    text = filled(flag, ('"Unit {{SERIAL}}"', '"is {{REACH}}"'), REACH=said)
    assert text["title"] == ("is true" if read else "is false")


@pytest.mark.parametrize("said", ["maybe", 2, None, 1.0, []])
def test_what_is_no_flag_is_refused(said):
    flag = ('"pointer": "/reach/mm", "type": "integer"', '"pointer": "", "type": "boolean"')
    with pytest.raises(UnitError, match="REACH is no boolean"):
        filled(flag, REACH=said)


@pytest.mark.parametrize("said", ["a\0", "a\nb", "x" * 201, None, True, {}, "\ud800", "a\u2028b"])
def test_what_is_no_text_is_refused(said):
    with pytest.raises(UnitError, match="SERIAL is no text"):
        filled(SERIAL=said)


def test_a_number_may_stand_for_a_text():
    assert filled(SERIAL=5)["title"] == "Unit 5"


def test_every_placeholder_has_a_value_and_there_are_no_others():
    with pytest.raises(PlanError, match="SERIAL has no value"):
        fill(profile(), {name: said for name, said in VALUES.items() if name != "SERIAL"})
    with pytest.raises(PlanError, match="OTHER is no placeholder"):
        fill(profile(), {**VALUES, "OTHER": 1})


@pytest.mark.parametrize(
    ("said", "href"),
    [
        ("a b", "units/a%20b/plate"),
        ("a?b#c", "units/a%3Fb%23c/plate"),
        ("é%", "units/%C3%A9%25/plate"),
        ("{x}", "units/%7Bx%7D/plate"),
        ("a:b@c", "units/a%3Ab%40c/plate"),
        ("...", "units/.../plate"),
        ("{{PORT}}", "units/%7B%7BPORT%7D%7D/plate"),
    ],
)
def test_a_value_in_an_address_is_a_piece_of_it(said, href):
    document = filled(SERIAL=said)
    assert document["properties"]["plate"]["forms"][0]["href"] == href
    assert document["title"] == f"Unit {said}"


@pytest.mark.parametrize("said", [".", "..", "../x", "a/b", "a\\b", ""])
def test_a_value_never_leads_out_of_its_path(said):
    with pytest.raises(UnitError, match="path"):
        filled(SERIAL=said)


def test_a_step_out_is_seen_where_the_value_is_half_of_it():
    with pytest.raises(UnitError, match="out of the path"):
        filled(('"units/{{SERIAL}}/plate"', '"units/.{{SERIAL}}/plate"'), SERIAL=".")
    with pytest.raises(UnitError, match="out of the path"):
        filled(('"units/{{SERIAL}}/plate"', '"units/%2e{{SERIAL}}"'), SERIAL=".")


@pytest.mark.parametrize(
    ("host", "base"),
    [
        ("unit-5.local", "http://unit-5.local:8080/"),
        ("2001:db8::5", "http://[2001:db8::5]:8080/"),
        ("fe80::1%25eth0", "http://[fe80::1%25eth0]:8080/"),
    ],
)
def test_a_host_is_a_name_or_a_number(host, base):
    assert filled(HOST=host)["base"] == base


@pytest.mark.parametrize(
    "values",
    [
        {"HOST": "evil.example/"},
        {"HOST": "a@b"},
        {"HOST": "a:b@c"},
        {"HOST": "-"},
        {"HOST": ""},
        {"PORT": 0},
        {"PORT": 65536},
    ],
)
def test_what_is_no_host_and_no_port_is_refused(values):
    with pytest.raises(UnitError, match="no host and no port"):
        filled(**values)


def test_an_id_is_a_uri():
    document = filled(('"title": "Unit {{SERIAL}}"', '"id": "urn:x:{{SERIAL}}"'), SERIAL="a b:c")
    assert document["id"] == "urn:x:a%20b%3Ac"


def broker_values(**values):
    return {**VALUES, "HOST": "192.0.2.9", "PORT": 1883, **values}


def test_a_value_in_a_topic_is_a_piece_of_one_level():
    document = json.loads(fill(broker_profile(), broker_values()))
    unit = read_thing(json.dumps(document).encode(), "mqtt://192.0.2.9:1883/")
    assert unit.complaints == ()
    assert unit.properties["wishes"].form("writeproperty").topic == "wd/K-5/wishes"


@pytest.mark.parametrize("said", ["a/b", "+", "#", "a+", "", "$SYS", "../x"])
def test_a_value_never_makes_a_topic_wider(said):
    with pytest.raises(UnitError, match="piece of a topic"):
        fill(broker_profile(), broker_values(SERIAL=said))
