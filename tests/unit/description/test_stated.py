import json

import pytest

from fleet.description.stated import stated
from fleet.description.things import read_thing
from tests.unit.description.samples import document as description
from tests.unit.description.samples import td_schema, thing, with_property


def member(**schema):
    return {"type": "object", "properties": schema}


@pytest.mark.parametrize(
    ("schema", "value"),
    [
        ({"const": 5}, 5),
        (member(a={"const": "x"}, b={"const": False}), {"a": "x", "b": False}),
        (member(a=member(b={"const": 1})), {"a": {"b": 1}}),
        (member(a={"const": "x"}, b={"type": "string"}), None),
        ({"type": "object"}, None),
    ],
)
def test_what_allows_one_value_alone_states_it(schema, value):
    assert stated(with_property(schema).properties["p"]) == value


def test_a_property_that_can_be_asked_is_asked():
    unit = with_property({"const": 5, "forms": [{"href": "x"}]})
    assert stated(unit.properties["p"]) is None
    assert stated(thing(actions={"a": {"input": {"const": 1}}}).actions["a"]) is None


def test_the_official_schema_has_nothing_against_a_stated_value():
    raw = json.dumps(description(properties={"p": member(a={"const": "x"})})).encode()
    assert read_thing(raw, "http://192.0.2.7/", td_schema=td_schema()).complaints == ()
