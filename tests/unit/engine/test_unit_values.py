"""Settings and areas of a unit as items of a sheet, and back into what the unit takes."""

import json
from pathlib import Path

import pytest

from fleet.description.requests import write_request
from fleet.description.things import read_thing
from fleet.description.vocabulary import AREA_SET, SETTINGS
from fleet.engine.area_values import area_set_value, areas_from, revision_from
from fleet.engine.setting_values import settings_items, settings_value
from fleet.model.errors import PlanError
from fleet.model.sheets import Area, AreaKind

RAW = Path("tests/data/descriptions/tracking.td.json").read_bytes()
URL = "http://127.0.0.1:8080/td"
THING = read_thing(RAW, URL)
SETTING, AREAS = THING.property_of(SETTINGS), THING.property_of(AREA_SET)
HELD = {"maxDistance": 6000, "holdTime": 30, "sensitivity": 60, "indicator": True}
HELD_AREAS = {
    "revision": 4,
    "areas": [
        {
            "id": "sofa",
            "label": "Sofa",
            "kind": "watch",
            "shape": "rectangle",
            "min": {"x": -500, "y": 1000},
            "max": {"x": 500, "y": 2000},
        },
        {
            "id": "bay",
            "kind": "ignore",
            "shape": "polygon",
            "vertices": [{"x": 0, "y": 0}, {"x": 900, "y": 0}, {"x": 0, "y": 900}],
        },
    ],
}


def in_centimetres():
    """The same unit, but one whose settings and areas come in cm."""
    document = json.loads(RAW)
    text = json.dumps(document).replace("qunit:MilliM", "qunit:CentiM")
    thing = read_thing(text.encode(), URL)
    return thing.property_of(SETTINGS), thing.property_of(AREA_SET)


def test_settings_are_found_by_type_and_carry_our_units():
    assert settings_items(SETTING, HELD) == {
        "setting.max_distance_mm": 6000,
        "setting.hold_time_s": 30,
        "setting.sensitivity_percent": 60,
        "setting.indicator_light": True,
    }


def test_a_changed_setting_leaves_the_others_as_the_unit_holds_them():
    value = settings_value(SETTING, HELD, {"setting.hold_time_s": 45})
    assert value == HELD | {"holdTime": 45}
    assert write_request(THING, SETTING, value, '"1"').headers["If-Match"] == '"1"'


def test_a_setting_that_the_unit_lacks_is_refused():
    with pytest.raises(PlanError, match="no warp"):
        settings_value(SETTING, HELD, {"setting.warp": 9})


def test_areas_are_read_and_written_back_the_same():
    areas = areas_from(AREAS.schema, HELD_AREAS)
    assert [area.key for area in areas] == ["sofa", "bay"]
    assert areas[0].outline_mm == ((-500, 1000), (500, 1000), (500, 2000), (-500, 2000))
    assert revision_from(AREAS.schema, HELD_AREAS) == 4
    value = area_set_value(AREAS.schema, HELD_AREAS, areas)
    assert "revision" not in value
    assert areas_from(AREAS.schema, value) == areas
    assert write_request(THING, AREAS, value, '"1"').body


def test_what_is_no_area_is_left_out_and_the_rest_stands():
    odd = {
        "areas": [7, {"id": "x"}, {"id": "y", "kind": "lava", "min": {}}, HELD_AREAS["areas"][0]]
    }
    assert [area.key for area in areas_from(AREAS.schema, odd)] == ["sofa"]
    assert areas_from(AREAS.schema, None) == ()
    assert revision_from(AREAS.schema, {}) is None


def test_a_unit_that_speaks_centimetres_is_read_and_written_in_millimetres():
    setting, areas = in_centimetres()
    assert settings_items(setting, {"maxDistance": 600})["setting.max_distance_mm"] == 6000
    area = Area("a", "A", AreaKind.WATCH, ((0, 1000), (500, 1000), (500, 2000), (0, 2000)))
    value = area_set_value(areas.schema, {}, [area])
    assert value["areas"][0]["max"] == {"x": 50, "y": 200}
    assert areas_from(areas.schema, value) == (area,)
