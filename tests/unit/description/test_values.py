import pytest

from fleet.description import vocabulary as pres
from fleet.description.things import read_thing
from fleet.description.values import fields, with_fields
from fleet.model.errors import PlanError
from tests.unit.description.samples import URL, example, with_property

SETTINGS = {
    "@type": "pres:Settings",
    "type": "object",
    "properties": {
        "reach": {"@type": "pres:MaxDistance", "type": "integer", "unit": "cm", "multipleOf": 5},
        "hold": {"@type": "pres:HoldTime", "type": "number", "unit": "fortnight"},
        "light": {
            "type": "object",
            "properties": {
                "led": {"@type": "pres:IndicatorLight", "type": "boolean"},
                "colour": {"type": "string"},
            },
        },
        "spare": {"type": "integer"},
        "stamp": {"type": "integer", "readOnly": True},
        "must": {"type": "integer", "readOnly": True},
    },
    "required": ["must"],
}
HELD = {
    "reach": 350,
    "hold": 2,
    "light": {"led": True, "colour": "red"},
    "spare": 7,
    "stamp": 1,
    "must": 2,
    "extra": "x",
}
PROPERTY = with_property(SETTINGS).properties["p"]


def test_fields_go_by_type_in_our_units_and_else_by_own_name():
    assert fields(PROPERTY.schema, HELD) == {
        pres.MAX_DISTANCE: 3500,
        "hold": 2,
        pres.INDICATOR_LIGHT: True,
        "colour": "red",
        "spare": 7,
        "stamp": 1,
        "must": 2,
        "extra": "x",
    }


def test_a_scalar_property_has_its_own_type_as_its_only_field():
    light = with_property({"@type": "pres:Illuminance", "type": "number"}).properties["p"]
    assert fields(light.schema, 12.4) == {pres.ILLUMINANCE: 12}
    assert fields({}, 12.4) == {}
    assert with_fields(light, 3, {pres.ILLUMINANCE: 5}) == 5


def test_a_list_is_one_field():
    capabilities = read_thing(example("tracking"), URL).property_of(pres.CAPABILITIES)
    read = fields(capabilities.schema, {"areaShapes": ["rectangle"], "range": 6000})
    assert read == {pres.AREA_SHAPES: ["rectangle"], pres.MAX_RANGE: 6000}


def test_the_whole_value_to_write_keeps_the_rest_and_lands_on_the_units_steps():
    changes = {pres.MAX_DISTANCE: 4020, pres.INDICATOR_LIGHT: False, "spare": 8}
    assert with_fields(PROPERTY, HELD, changes) == {
        "reach": 400,
        "hold": 2,
        "light": {"led": False, "colour": "red"},
        "spare": 8,
        "must": 2,
        "extra": "x",
    }
    assert HELD["light"] == {"led": True, "colour": "red"}


def test_a_member_within_a_missing_object_is_added():
    assert with_fields(PROPERTY, None, {pres.INDICATOR_LIGHT: True}) == {"light": {"led": True}}
    assert with_fields(PROPERTY, {}, {"spare": 1}) == {"spare": 1}
    assert with_fields(PROPERTY, {}, {"colour": "blue", "spare": 1}) == {
        "light": {"colour": "blue"},
        "spare": 1,
    }


@pytest.mark.parametrize(
    ("change", "words"),
    [({pres.SENSITIVITY: 3}, "no sensitivity"), ({"stamp": 3}, "no stamp")],
)
def test_what_the_unit_has_not_or_does_not_take_is_refused(change, words):
    with pytest.raises(PlanError, match=words):
        with_fields(PROPERTY, HELD, change)
