"""Descriptions against W3C Thing Description 1.1 (Recommendation, 5 December 2023).

The official schema is the W3C's own file. The default methods were read in the W3C's HTTP binding
document, which repeats them; section numbers of the Recommendation are from memory.
"""

import json

import pytest

from fleet.description.requests import read_request
from fleet.description.things import complaints_of, read_thing
from tests.unit.description.samples import example, td_schema, with_property

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
