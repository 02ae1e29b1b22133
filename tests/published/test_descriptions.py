"""Descriptions against W3C Thing Description 1.1 (Recommendation, 5 December 2023).

The official schema is the W3C's own file. The default methods were read in the W3C's HTTP binding
document, which repeats them; section numbers of the Recommendation are from memory.
"""

import json
from dataclasses import replace

import pytest
from jsonschema import Draft7Validator

from fleet.description import vocabulary as pres
from fleet.description.requests import read_request
from fleet.description.things import complaints_of, read_thing
from fleet.simulator.describe import description_of
from fleet.simulator.truth import Truth
from fleet.simulator.world import world_of
from tests.unit.description.samples import example, td_schema, with_property
from tests.unit.simulator.small_house import PLAN, STATIC, TRACKING, VITAL

SIMULATED = {
    **{unit.module_type.value: unit for unit in (TRACKING, STATIC, VITAL)},
    "scattered tracking": replace(TRACKING, scattered=True),
    "scattered static": replace(STATIC, scattered=True),
}
ADDRESS = "http://127.0.0.1:8000/"

EXAMPLES = ["tracking", "static", "vital"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_holds_against_the_official_schema(name):
    # Source: the schema that the W3C publishes with TD 1.1, version 1.1-12-March-2025.
    assert complaints_of(json.loads(example(name)), td_schema()) == ()


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_read_without_a_complaint(name):
    base = json.loads(example(name))["base"]
    assert (
        read_thing(example(name), base + ".well-known/wot", td_schema=td_schema()).complaints == ()
    )


def simulated(kind: str) -> dict:
    _, unit = world_of(PLAN, Truth((SIMULATED[kind],)), 1).units[0]
    return description_of(unit, ADDRESS)


@pytest.mark.parametrize("kind", SIMULATED)
def test_every_description_of_a_simulated_unit_holds_against_the_official_schema(kind):
    # Source: as above; held against the schema as it stands, without anything of ours in between.
    assert list(Draft7Validator(td_schema()).iter_errors(simulated(kind))) == []


@pytest.mark.parametrize("kind", SIMULATED)
def test_a_simulated_unit_is_read_with_all_that_an_installation_needs(kind):
    raw = json.dumps(simulated(kind)).encode()
    unit = read_thing(raw, ADDRESS + "description", td_schema=td_schema())
    assert unit.complaints == ()
    assert unit.property_of(pres.FIRMWARE_INSTALLATION).form("observeproperty")
    assert unit.event_of(pres.FAULT).form("subscribeevent")
    for action in (pres.STAGE_FIRMWARE, pres.INSTALL_FIRMWARE, pres.FACTORY_RESET):
        assert unit.action_of(action).form("invokeaction")


def test_a_scattered_unit_is_put_together_from_its_single_values():
    raw = json.dumps(simulated("scattered tracking")).encode()
    unit = read_thing(raw, ADDRESS + "description")
    assert {part.name for part in unit.property_of(pres.SETTINGS).parts} >= {"tune_hold"}
    areas = unit.property_of(pres.AREA_SET).parts
    assert {part.name for part in areas if part.entry == ("areas", "0")} == {
        "place1_left", "place1_right", "place1_near", "place1_far", "place1_purpose",
    }  # fmt: skip


def test_the_official_schema_complains_about_a_missing_security():
    # TD 1.1 §5.3.1.1: `security` is mandatory.
    described = json.loads(example("static"))
    del described["security"]
    assert any("'security' is a required" in text for text in complaints_of(described, td_schema()))


@pytest.mark.parametrize(
    ("op", "kind", "method"),
    [
        # TD 1.1 §8.3.1, table of default methods of the HTTP binding.
        ("readproperty", "properties", "GET"),
        ("writeproperty", "properties", "PUT"),
        ("invokeaction", "actions", "POST"),
    ],
)
def test_the_default_methods_are_those_of_the_recommendation(op, kind, method):
    unit = with_property({"forms": [{"href": "x", "op": op}]})
    assert kind in {"properties", "actions"}
    assert unit.properties["p"].form(op).method == method
    assert unit.properties["p"].form(op).content_type == "application/json"


@pytest.mark.parametrize(
    ("template", "url"),
    [
        # RFC 6570 §1.2 and §3.2, with its variables var := value, x := 1024, y := 768, empty := "",
        # hello := "Hello World!", path := /foo/bar.
        ("{var}", "value"),
        ("{hello}", "Hello%20World%21"),
        ("map?{x,y}", "map?1024,768"),
        ("{x,hello,y}", "1024,Hello%20World%21,768"),
        ("{+path}/here", "/foo/bar/here"),
        ("here{?x,y,empty}", "here?x=1024&y=768&empty="),
        ("here?fixed=yes{&x}", "here?fixed=yes&x=1024"),
        ("{var:3}", "val"),
        ("up{;x,y,empty}", "up;x=1024;y=768;empty"),
        ("X{.var}", "X.value"),
        ("here{?undef}", "here"),
    ],
)
def test_the_templates_of_rfc_6570_expand_as_it_has_them(template, url):
    values = {"var": "value", "hello": "Hello World!", "path": "/foo/bar", "x": 1024, "y": 768}
    unit = with_property({"forms": [{"href": "/t/" + template, "op": "readproperty"}]})
    request = read_request(unit, unit.properties["p"], {**values, "empty": ""})
    assert request.url == "http://192.0.2.7:8080/t/" + url
