import json
from dataclasses import replace

import pytest

from fleet.description.publications import Publication, publication
from fleet.description.requests import (
    invoke_request,
    observe_request,
    read_request,
    status_request,
    write_request,
)
from fleet.description.things import read_thing
from fleet.model.errors import PlanError, UnitError
from tests.unit.description.samples import document, thing, with_property

BROKER = "mqtt://192.0.2.9:1883"
TOPIC = {"href": "", "mqv:topic": "u/hold", "mqv:qos": 1, "mqv:retain": True}
NUMBER = {"type": "integer", "maximum": 60}
PARTS = {
    "properties": {
        "hold": {**NUMBER, "forms": [TOPIC]},
        "here": {**NUMBER, "forms": [{"href": "http://192.0.2.9/x"}]},
    },
    "actions": {
        "blink": {"forms": [TOPIC]},
        "wait": {"input": NUMBER, "forms": [TOPIC]},
        "ask": {"input": {"type": "object", "required": ["n"]}, "forms": [TOPIC]},
    },
}
UNIT = read_thing(json.dumps(document(**PARTS)).encode(), BROKER + "/u")


def test_a_setting_is_published_as_its_form_says():
    assert publication(UNIT, UNIT.properties["hold"], 30) == Publication(
        BROKER, "u/hold", b"30", qos=1, retain=True
    )


def test_an_action_is_never_kept_by_the_broker():
    assert publication(UNIT, UNIT.actions["blink"]) == Publication(BROKER, "u/hold", b"", qos=1)
    assert publication(UNIT, UNIT.actions["wait"], 5) == Publication(BROKER, "u/hold", b"5", qos=1)


def test_a_value_that_the_unit_rules_out_is_not_published():
    with pytest.raises(PlanError, match="above the unit's 60"):
        publication(UNIT, UNIT.properties["hold"], 61)
    with pytest.raises(PlanError):
        publication(UNIT, UNIT.actions["ask"])


def test_what_has_no_form_at_a_broker_is_not_published():
    read_only = with_property({"readOnly": True, "forms": [{"href": "x"}]})
    with pytest.raises(PlanError, match="can't be written"):
        publication(read_only, read_only.properties["p"], 1)
    plain = with_property({"forms": [{"href": "x"}]})
    with pytest.raises(PlanError, match="goes by a request"):
        publication(plain, plain.properties["p"], 1)


@pytest.mark.parametrize("topic", ["u/#", "u/+", "", "$SYS/x", "u\0"])
def test_a_topic_is_held_once_more_before_it_goes_out(topic):
    form = replace(UNIT.properties["hold"].forms[0], op="writeproperty", topic=topic)
    bent = replace(UNIT.properties["hold"], forms=(form,))
    with pytest.raises(PlanError, match="can't be published"):
        publication(UNIT, bent, 30)


def test_no_request_is_made_of_what_goes_by_a_broker():
    hold, blink = UNIT.properties["hold"], UNIT.actions["blink"]
    watched = with_property(
        {"forms": [{"href": "", "op": "observeproperty", "mqv:topic": "t"}]}, BROKER
    )
    for ask in (
        lambda: read_request(UNIT, hold),
        lambda: write_request(UNIT, hold, 30, None),
        lambda: invoke_request(UNIT, blink),
        lambda: observe_request(watched, watched.properties["p"]),
    ):
        with pytest.raises(PlanError, match="goes by a broker"):
            ask()


def test_a_web_socket_is_watched_by_the_request_that_opens_it():
    unit = with_property({"forms": [{"href": "ws://192.0.2.7:8080/f", "op": "observeproperty"}]})
    request = observe_request(unit, unit.properties["p"])
    assert (request.method, request.url) == ("GET", "ws://192.0.2.7:8080/f")


def test_the_status_of_an_action_is_asked_by_a_request_alone():
    unit = thing(actions={"a": {"forms": [{"href": "a"}]}})
    invoked = invoke_request(unit, unit.actions["a"])
    with pytest.raises(UnitError, match="address of its status is none"):
        status_request(unit, invoked, "ws://192.0.2.7:8080/status")
