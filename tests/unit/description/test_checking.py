import math

import pytest

from fleet.description import vocabulary as pres
from fleet.description.checking import check_value
from fleet.description.things import read_thing
from fleet.model.errors import PlanError
from tests.unit.description.samples import URL, example, with_property

SETTINGS = {"maxDistance": 4000, "holdTime": 30, "sensitivity": 60}
UNIT = read_thing(example("tracking"), URL)
POINT = {"x": 0, "y": 1000}
RECTANGLE = {"id": "a", "kind": "watch", "shape": "rectangle", "min": POINT, "max": POINT}
POLYGON = {"id": "a", "kind": "watch", "shape": "polygon", "vertices": [POINT] * 3}


def reason(type_iri, value):
    with pytest.raises(PlanError) as caught:
        check_value(UNIT.property_of(type_iri), value, "U04")
    assert caught.value.subject == "U04"
    assert caught.value.stands
    return caught.value.what


def test_values_that_the_schema_takes_pass():
    check_value(UNIT.property_of(pres.SETTINGS), SETTINGS, "U04")
    check_value(UNIT.property_of(pres.AREA_SET), {"areas": [RECTANGLE, POLYGON]}, "U04")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"holdTime": 9000}, "hold time 9000 s is above the unit's 3600 s."),
        ({"holdTime": -1}, "hold time -1 s is below the unit's 0 s."),
        ({"maxDistance": 5020}, "max distance 5020 mm isn't a step of the unit's 50 mm."),
        ({"indicator": "on"}, "indicator light on isn't of the unit's type boolean."),
        ({"holdTime": math.nan}, "a number isn't finite."),
        ({"indicator": "\ud800"}, "a text holds half a character."),
    ],
)
def test_a_setting_is_refused_in_words(change, words):
    assert reason(pres.SETTINGS, {**SETTINGS, **change}) == words


def test_a_missing_member_is_named_by_its_type():
    assert reason(pres.SETTINGS, {"maxDistance": 500, "sensitivity": 1}) == "hold time is missing."


@pytest.mark.parametrize(
    ("area", "words"),
    [
        (
            {**RECTANGLE, "max": {"x": 7000, "y": 0}},
            "sensor x 7000 mm is above the unit's 6000 mm.",
        ),
        (
            {**POLYGON, "vertices": [POINT] * 9},
            "vertices has 9 entries, the unit takes no more than 8.",
        ),
        (
            {**RECTANGLE, "kind": "door"},
            "area kind door is none of the unit's watch, ignore, doorway.",
        ),
        (
            {**RECTANGLE, "label": "x" * 49},
            "area label has 49 characters, the unit takes no more than 48.",
        ),
    ],
)
def test_the_alternative_that_was_meant_gives_the_reason(area, words):
    assert reason(pres.AREA_SET, {"areas": [area]}) == words


def test_a_scalar_goes_by_the_propertys_own_type_or_name():
    typed = with_property({"@type": "pres:Illuminance", "unit": "qunit:LUX", "exclusiveMaximum": 5})
    plain = with_property({"anyOf": [{"const": "a"}, {"pattern": "^b$"}]})
    with pytest.raises(PlanError, match="illuminance 5 lux isn't below the unit's 5 lux"):
        check_value(typed.properties["p"], 5, "U04")
    with pytest.raises(PlanError, match="p c isn't written as the unit wants it"):
        check_value(plain.properties["p"], "c", "U04")


def test_a_rule_without_a_phrase_of_its_own_still_gives_a_reason():
    twice = with_property({"oneOf": [{"type": "integer"}, {"type": "number"}]})
    with pytest.raises(PlanError, match="p 3 isn't what the unit takes"):
        check_value(twice.properties["p"], 3, "U04")
