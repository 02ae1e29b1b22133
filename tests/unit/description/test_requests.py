import json
from dataclasses import replace

import pytest

from fleet.description import vocabulary as pres
from fleet.description.requests import (
    Request,
    invoke_request,
    observe_request,
    read_request,
    status_request,
    write_request,
)
from fleet.description.things import read_thing
from fleet.model.errors import PlanError, UnitError
from tests.unit.description.samples import URL, example, thing, with_property

UNIT = read_thing(example("tracking"), URL)
SETTINGS = UNIT.property_of(pres.SETTINGS)
VALUE = {"maxDistance": 4000, "holdTime": 30, "sensitivity": 60}
OWN = "http://192.0.2.7:8080"


def test_a_property_is_read():
    assert read_request(UNIT, SETTINGS) == Request(
        "GET",
        OWN + "/properties/settings",
        {"Accept": "application/json, application/problem+json;q=0.9"},
    )


def test_a_setting_is_written_over_what_was_read():
    request = write_request(UNIT, SETTINGS, VALUE, '"r7"')
    assert (request.method, request.url) == ("PUT", OWN + "/properties/settings")
    assert request.headers["If-Match"] == '"r7"'
    assert request.headers["Content-Type"] == "application/json"
    assert json.loads(request.body) == VALUE


@pytest.mark.parametrize("etag", [None, 'W/"r7"', '"a"\r\nX: y', "r7"])
def test_no_write_goes_out_without_a_strong_tag_where_the_unit_asks_for_one(etag):
    with pytest.raises(UnitError, match="tag"):
        write_request(UNIT, SETTINGS, VALUE, etag)


def test_a_value_that_the_unit_rules_out_is_not_sent():
    with pytest.raises(PlanError, match="hold time 9000 s is above the unit's 3600 s"):
        write_request(UNIT, SETTINGS, {**VALUE, "holdTime": 9000}, '"r7"')


def test_what_has_no_form_can_not_be_asked():
    with pytest.raises(PlanError, match="can't be written"):
        write_request(UNIT, UNIT.property_of(pres.IDENTITY), {}, None)


def test_a_write_without_a_tag_where_the_unit_asks_for_none():
    unit = with_property({"type": "string", "forms": [{"href": "x", "contentType": "text/plain"}]})
    request = write_request(unit, unit.properties["p"], "Küche", None)
    assert (request.body, "If-Match" in request.headers) == ("Küche".encode(), False)


def test_a_content_type_that_is_not_spoken_is_said():
    unit = with_property({"forms": [{"href": "x", "contentType": "application/cbor"}]})
    with pytest.raises(PlanError, match="takes application/cbor"):
        write_request(unit, unit.properties["p"], 3, None)


def test_actions_take_nothing_an_object_or_octets():
    restart, identify = UNIT.action_of(pres.RESTART), UNIT.action_of(pres.IDENTIFY)
    assert invoke_request(UNIT, restart).body is None
    assert invoke_request(UNIT, identify, {"seconds": 5}).body == b'{"seconds":5}'
    stage = invoke_request(UNIT, UNIT.action_of(pres.STAGE_FIRMWARE), b"\0image")
    assert stage.body == b"\0image"
    assert stage.headers["Content-Type"] == "application/octet-stream"
    with pytest.raises(PlanError, match="seconds is missing"):
        invoke_request(UNIT, identify)
    with pytest.raises(PlanError, match="can't be written as"):
        invoke_request(UNIT, identify, b"octets")


def test_a_stream_goes_on_after_the_last_event():
    frame = UNIT.property_of(pres.TARGET_FRAME)
    begun, resumed = observe_request(UNIT, frame), observe_request(UNIT, frame, "r-9")
    assert begun.headers == {"Accept": "text/event-stream", "Cache-Control": "no-store"}
    assert resumed.headers["Last-Event-ID"] == "r-9"
    assert "Last-Event-ID" not in observe_request(UNIT, frame, "a\r\nX: y").headers


def test_long_poll_and_events_are_watched_too():
    unit = thing(
        properties={
            "p": {"forms": [{"href": "next", "op": "observeproperty", "subprotocol": "longpoll"}]}
        },
    )
    assert (
        observe_request(unit, unit.properties["p"]).headers["Accept"].startswith("application/json")
    )
    assert observe_request(UNIT, UNIT.event_of(pres.FAULT)).url == OWN + "/events/fault"


def test_variables_are_expanded_with_the_schemas_defaults():
    unit = with_property(
        {
            "forms": [{"href": "x{?from,step}"}],
            "uriVariables": {"step": {"type": "integer", "default": 5}, "from": {"type": "string"}},
        }
    )
    property_ = unit.properties["p"]
    assert read_request(unit, property_).url == OWN + "/x?step=5"
    assert read_request(unit, property_, {"from": "a b"}).url == OWN + "/x?from=a%20b&step=5"


def test_an_address_that_leads_away_after_all_is_not_asked():
    unit = with_property({"forms": [{"href": "x"}]})
    elsewhere = replace(unit, url="http://198.51.100.9/")
    with pytest.raises(PlanError, match="led away"):
        read_request(elsewhere, unit.properties["p"])


def test_the_status_of_an_action_is_asked_on_the_own_origin():
    invoked = Request("POST", OWN + "/actions/install")
    assert status_request(UNIT, invoked, "install/3").url == OWN + "/actions/install/3"
    assert status_request(UNIT, invoked, "http://evil.example/s", "DELETE").url == OWN + "/s"
    with pytest.raises(UnitError, match="the address of its status is none"):
        status_request(UNIT, invoked, "ftp://a.example/")
