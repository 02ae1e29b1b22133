"""Areas that are four numbers each, read and written as rectangles."""

import json

import pytest

from fleet.description.assembly import put_together, taken_apart
from fleet.description.things import read_thing
from fleet.description.vocabulary import AREA_SET
from fleet.engine.area_values import area_set_value, areas_from, said_besides_areas
from fleet.jobs.areas import rectangle
from fleet.model.errors import PlanError
from fleet.model.sheets import Area, AreaKind
from tests.unit.description.samples import URL, example, with_property
from tests.unit.description.scattered import scattered

PLACES = read_thing(json.dumps(scattered()).encode(), URL).properties["places"]
EDGES = ("left", "right", "near", "far")
FIRST = Area("1", "1", AreaKind.WATCH, rectangle((-1000, 500), (1000, 3000)))
THIRD = Area("3", "3", AreaKind.WATCH, rectangle((0, 0), (2000, 1000)))


def standing(**places):
    """Return the numbers of all places in cm; a place that isn't named holds zeros."""
    return {
        f"place{place}{edge}": value
        for place in (1, 2, 3)
        for edge, value in zip(EDGES, places.get(f"p{place}", (0, 0, 0, 0)), strict=True)
    }


def test_four_numbers_are_a_rectangle_and_its_place_is_its_key():
    value = put_together(PLACES, standing(p1=(-100, 100, 50, 300), p3=(0, 200, 0, 100)))
    assert areas_from(PLACES.schema, value) == (FIRST, THIRD)


def test_areas_go_to_the_places_that_their_keys_name():
    held = standing(p1=(-100, 100, 50, 300), p2=(1, 2, 3, 4))
    value = area_set_value(PLACES.schema, put_together(PLACES, held), [FIRST, THIRD])
    assert taken_apart(PLACES, value, held) == {
        "place2left": 0,
        "place2right": 0,
        "place2near": 0,
        "place2far": 0,
        "place3right": 200,
        "place3far": 100,
    }


def test_a_reversed_or_empty_area_is_none():
    value = put_together(PLACES, standing(p1=(100, -100, 50, 300), p2=(5, 5, 1, 9)))
    assert areas_from(PLACES.schema, value) == ()


@pytest.mark.parametrize(
    ("area", "words"),
    [
        (Area("4", "4", AreaKind.WATCH, FIRST.outline_mm), "no place: .* from 1 to 3"),
        (Area("sofa", "s", AreaKind.WATCH, FIRST.outline_mm), "area sofa has no place"),
        (Area("1", "1", AreaKind.IGNORE, FIRST.outline_mm), "only knows areas to watch"),
        (Area("1", "1", AreaKind.WATCH, ((0, 0), (9, 0), (0, 9))), "is no rectangle"),
    ],
)
def test_what_the_unit_cannot_hold_is_refused(area, words):
    with pytest.raises(PlanError, match=words):
        area_set_value(PLACES.schema, None, [area])


def lists(**items):
    """Return an area set that is one value, of areas by four numbers in m, with id, kind and label."""
    kinds = {"l": "XStart", "r": "XEnd", "n": "YStart", "f": "YEnd"}
    members = {
        name: {"@type": f"pres:Area{kind}", "type": "number", "unit": "m"}
        for name, kind in kinds.items()
    }
    entry = {"type": "object", "properties": {**members, **items.pop("more", {})}, **items}
    schema = {
        "@type": "pres:AreaSet",
        "type": "object",
        "properties": {
            "areas": {"type": "array", "items": entry},
            "revision": {"@type": "pres:Revision", "type": "integer", "readOnly": True},
        },
    }
    return with_property(schema).properties["p"].schema


NAMED = {
    "key": {"@type": "pres:AreaId", "type": "string"},
    "use": {
        "@type": "pres:AreaKind",
        "type": "string",
        "pres:words": {"in": "watch", "out": "ignore"},
    },
    "title": {"@type": "pres:AreaLabel", "type": "string"},
}


def test_one_value_with_names_and_kinds_goes_both_ways():
    schema = lists(more=NAMED)
    held = {
        "revision": 4,
        "areas": [
            {"key": "a", "use": "out", "title": "Fan", "l": -0.5, "r": 0.5, "n": 1, "f": 2, "x": 7}
        ],
    }
    fan = Area("a", "Fan", AreaKind.IGNORE, rectangle((-500, 1000), (500, 2000)))
    assert areas_from(schema, held) == (fan,)
    door = Area("b", "Door", AreaKind.WATCH, rectangle((0, 0), (1000, 1000)))
    assert area_set_value(schema, held, [fan, door]) == {
        "areas": [
            {"key": "a", "use": "out", "title": "Fan", "l": -0.5, "r": 0.5, "n": 1, "f": 2, "x": 7},
            {"key": "b", "use": "in", "title": "Door", "l": 0, "r": 1, "n": 0, "f": 1},
        ]
    }


def test_a_place_that_cannot_be_left_unused_is_not_left():
    schema = lists()
    held = {"areas": [{"l": 0, "r": 1, "n": 0, "f": 1}, None]}
    with pytest.raises(PlanError, match="no way of leaving place 1 unused"):
        area_set_value(schema, held, [])
    first = areas_from(schema, held)
    assert area_set_value(schema, held, first) == held


def test_a_unit_may_mean_absent_by_other_numbers():
    schema = lists(more=NAMED, **{"pres:absent": {"l": -1, "r": 9}})
    held = {"areas": [{"key": "a", "use": "in", "l": -1, "r": 9, "n": 0, "f": 1}]}
    assert areas_from(schema, held) == ()


@pytest.mark.parametrize(
    "entry",
    [
        {"l": 0, "r": 1, "n": 0},
        {"l": "0", "r": 1, "n": 0, "f": 1},
        {"l": True, "r": 1, "n": 0, "f": 1},
        {"l": 0, "r": 1e9, "n": 0, "f": 1},
        {"l": 0, "r": 1, "n": 0, "f": 1, "use": "for"},
        3,
    ],
)
def test_what_is_no_area_is_left_out(entry):
    assert areas_from(lists(more=NAMED), {"areas": [entry]}) == ()


def test_what_of_an_area_set_is_no_area_is_worded():
    areas = read_thing(example("tracking"), URL).property_of(AREA_SET)
    door = {"id": "a", "kind": "doorway", "shape": "polygon", "note": "by the lift"}
    door["vertices"] = [{"x": 0, "y": 0}, {"x": 900, "y": 0}, {"x": 0, "y": 900}]
    value = {"revision": "new", "areas": [door, {**door, "id": 3.5, "vertices": []}], "lock": True}
    said = said_besides_areas(areas, value)
    assert said["areas.revision"] == "new"
    assert said["areas.areas.0.note"] == "by the lift"
    assert said["areas.areas.1.vertices"] == "empty"
    assert said["areas.lock"] == "true"
    assert not any(path.startswith("areas.areas.0.vertices") for path in said)
    assert said_besides_areas(areas, {"revision": 4, "areas": []}) == {}
    assert said_besides_areas(PLACES, put_together(PLACES, standing(p1=(-1, 1, 0, 9)))) == {}
