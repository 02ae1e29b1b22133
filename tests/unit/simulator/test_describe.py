"""What a unit says of itself: valid, and only what it offers."""

import json

import pytest
from jsonschema import Draft7Validator

from fleet.model.sheets import areas_to_items
from fleet.shipped import resources
from fleet.simulator import names
from fleet.simulator.describe import description_of, writable_schemas
from fleet.simulator.rules import area_complaints, area_set_of, areas_from
from fleet.simulator.settings import taken
from fleet.simulator.world import world_of
from tests.unit.simulator.small_house import DESK, PLAN, SETTINGS, TRUTH

# W3C Web of Things Thing Description 1.1, Recommendation of 5 December 2023: its JSON Schema.
TD_SCHEMA = resources() / "schemas" / "td-1.1.schema.json"
WORLD = world_of(PLAN, TRUTH, 1)
UNITS = [unit for _, unit in WORLD.units]
TRACKING, STATIC, VITAL = UNITS


def described(unit):
    return description_of(unit, "http://127.0.0.1:8000/")


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.truth.module_type)
def test_every_description_is_valid_against_the_published_schema(unit):
    schema = json.loads(TD_SCHEMA.read_text("utf-8"))
    assert list(Draft7Validator(schema).iter_errors(described(unit))) == []


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.truth.module_type)
def test_every_value_is_valid_against_its_own_description(unit):
    WORLD.step(0, "2026-11-25T10:00:00.000Z")
    for name, schema in described(unit)["properties"].items():
        value = json.loads(unit.text_of(name))
        assert list(Draft7Validator(schema).iter_errors(value)) == [], name


def test_only_a_module_that_holds_areas_describes_them():
    assert names.FLOOR_AREAS in described(TRACKING)["properties"]
    assert names.FLOOR_AREAS not in described(STATIC)["properties"]
    assert "areas" not in json.loads(STATIC.text_of(names.PRESENCE))


def test_only_a_vital_sign_module_describes_breathing():
    assert names.BREATHING in described(VITAL)["properties"]
    assert names.BREATHING not in described(STATIC)["properties"]


def test_a_distance_only_module_describes_no_place():
    target = described(STATIC)["properties"][names.ECHOES]["properties"]["targets"]["items"]
    assert set(target["properties"]) == {"range", "speed"}


def test_two_units_have_two_ids():
    assert len({described(unit)["id"] for unit in UNITS}) == len(UNITS)


def test_a_setting_without_a_type_keeps_its_own_name():
    tuning = described(TRACKING)["properties"][names.TUNING]["properties"]
    assert tuning["warm_up_s"] == {"type": "integer"}
    assert "@type" in tuning["hold"]


def test_settings_come_back_as_they_were_written():
    value = json.loads(TRACKING.text_of(names.TUNING))
    assert taken(TRACKING.settings, value) == SETTINGS
    assert taken(TRACKING.settings, {**value, "hold": 30.0})["hold_time_s"] == 30


def test_areas_come_back_as_they_were_written():
    value = {"areas": area_set_of([DESK])}
    assert areas_to_items(areas_from(value)) == areas_to_items((DESK,))
    assert list(area_complaints(value)) == []


def test_what_a_schema_cannot_say_of_areas_is_said_in_words():
    (desk,) = area_set_of([DESK])
    turned = {**desk, "min": desk["max"], "max": desk["min"]}
    assert list(area_complaints({"areas": [desk, turned]})) == [
        "area id '1' stands twice",
        "area '1': min x is not below max x",
        "area '1': min y is not below max y",
    ]


def test_the_schemas_of_writes_are_schemas():
    for schema in writable_schemas(TRACKING).values():
        Draft7Validator.check_schema(schema)
