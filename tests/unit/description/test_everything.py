"""Whatever a unit says is worded."""

import pytest

from fleet.description.everything import everything_said, said_besides
from fleet.description.values import fields
from tests.unit.description.samples import with_property

CLIMATE = {
    "type": "object",
    "properties": {
        "air": {"@type": "pres:Temperature", "unit": "qunit:DEG_C"},
        "damp": {"@type": "pres:Humidity", "unit": "%", "pres:factor": 0.1},
        "pins": {"type": "array", "items": {"type": "integer", "unit": "mV"}},
        "raw": {"type": "array", "unit": "dBm"},
    },
}


def said(value, **schema):
    return everything_said(with_property(schema).properties["p"], value)


def test_a_plain_value_goes_by_the_propertys_name_with_its_unit():
    assert said(12.4, **{"@type": "pres:Illuminance", "unit": "qunit:LUX"}) == {"p": "12.4 lux"}
    assert said(-61, unit="dBm") == {"p": "-61 dBm"}


def test_members_go_by_their_own_names_and_lists_by_place():
    value = {
        "air": 21.5,
        "damp": 455,
        "pins": [3300, 0],
        "raw": [-60],
        "moved": True,
        "odd": {"deep": ["x"]},
    }
    assert said(value, **CLIMATE) == {
        "p.air": "21.5 °C",
        "p.damp": "45.5 %",
        "p.pins.0": "3300 mV",
        "p.pins.1": "0 mV",
        "p.raw.0": "-60 dBm",
        "p.moved": "true",
        "p.odd.deep.0": "x",
    }


@pytest.mark.parametrize(
    ("value", "words"),
    [(None, "none"), (False, "false"), ({}, "empty"), ([], "empty"), ("", ""), ("a\nb", "a b")],
)
def test_each_kind_of_value_has_words(value, words):
    assert said(value) == {"p": words}


def test_names_that_look_the_same_are_told_apart_and_no_name_is_said():
    assert said({"a": 1, "a\u202e": 2, "": 3, "b.c": 4, "b": {"c": 5}}) == {
        "p.a": "1",
        "p.a (2)": "2",
        "p.(no name)": "3",
        "p.b.c": "4",
        "p.b.c (2)": "5",
    }


def test_more_values_than_anybody_lists_are_counted():
    found = said([*range(2003)])
    assert found["p.1999"] == "1999"
    assert found["p (more)"] == "3 further values, not listed"
    assert len(found) == 2001


def test_what_is_kept_elsewhere_is_said_only_where_it_is_another_value():
    affordance = with_property(CLIMATE).properties["p"]
    value = {"air": 21.5, "damp": 455, "pins": [3300, 0, 7]}
    kept = {**fields(affordance.schema, value), "pins": [0, 3300]}
    assert said_besides(affordance, value, kept) == {"p.pins.2": "7 mV"}
    assert said_besides(affordance, value, dict.fromkeys(kept)) == said(value, **CLIMATE)
