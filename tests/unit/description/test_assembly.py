"""Values put together from parts, taken apart, and in which order the parts are written."""

import json

import pytest

from fleet.description.assembly import (
    names_needed,
    put_together,
    same,
    taken_apart,
)
from fleet.description.frames import ReportReader
from fleet.description.things import read_thing
from fleet.description.values import fields, with_fields
from fleet.description.vocabulary import HOLD_TIME, INDICATOR_LIGHT, MAX_DISTANCE
from fleet.description.write_order import in_order
from fleet.model.errors import PlanError
from fleet.model.reports import Report, Target
from tests.unit.description.samples import URL, thing
from tests.unit.description.scattered import PLACES, scattered

UNIT = read_thing(json.dumps(scattered()).encode(), URL)
FRAME, SETTINGS, AREAS = (UNIT.properties[name] for name in ("frame", "settings", "places"))
TWO = {
    "bodies": 2,
    "body1right": -50,
    "body1away": 210,
    "body1pace": -0.4,
    "body2right": 100,
    "body2away": 300,
    "body2pace": 0,
}


def area(place, left, right, near, far):
    edges = {"left": left, "right": right, "near": near, "far": far}
    return {f"place{place}{edge}": value for edge, value in edges.items()}


STANDING = area(1, -100, 100, 50, 300) | area(2, 0, 0, 0, 0) | area(3, 0, 0, 0, 0)


def test_a_frame_is_put_together_in_the_units_own_units():
    assert put_together(FRAME, TWO) == {
        "targets": [
            {"right": -50, "away": 210, "pace": -0.4},
            {"right": 100, "away": 300, "pace": 0},
        ]
    }


def test_the_report_reader_reads_what_is_put_together():
    reader = ReportReader(FRAME)
    both = (Target(-500, 2100, None, -400, 1), Target(1000, 3000, None, 0, 2))
    assert reader.read(json.dumps(put_together(FRAME, TWO))) == Report(None, None, both)
    one = put_together(FRAME, TWO | {"bodies": 1})
    assert reader.read(json.dumps(one)) == Report(None, None, both[:1])
    second = {name: value for name, value in TWO.items() if not name.startswith("body1")}
    assert reader.read(json.dumps(put_together(FRAME, second))).targets == both[1:]
    none = put_together(FRAME, TWO | {"bodies": 0})
    assert reader.read(json.dumps(none)) == Report(None, None, ())


def test_an_entry_stands_only_while_its_condition_is_known_and_met():
    unknown = {name: value for name, value in TWO.items() if name != "bodies"}
    assert put_together(FRAME, unknown) == {"targets": [None, None]}
    assert put_together(FRAME, TWO | {"bodies": "2"}) == {"targets": [None, None]}
    assert put_together(FRAME, TWO | {"bodies": True})["targets"][1] is None


def test_an_entry_without_a_part_of_its_place_is_not_there_and_one_without_speed_is():
    lame = {name: value for name, value in TWO.items() if name not in {"body1away", "body2pace"}}
    assert put_together(FRAME, lame) == {"targets": [None, {"right": 100, "away": 300}]}
    assert put_together(FRAME, TWO | {"body1away": None})["targets"][0] is None


def test_a_condition_may_speak_in_words():
    unit = thing(
        properties={
            "seen": {
                "type": "string",
                "pres:words": {"yes": True, "no": False},
                "forms": [{"href": "/s"}],
            },
            "how_far": {"@type": "pres:TargetRange", "forms": [{"href": "/d"}]},
            "frame": {
                "@type": "pres:TargetFrame",
                "pres:parts": [
                    {"property": "how_far", "at": "/targets/0/d", "when": {"property": "seen"}}
                ],
            },
        }
    )
    frame = unit.properties["frame"]
    assert put_together(frame, {"seen": "yes", "how_far": 1200}) == {"targets": [{"d": 1200}]}
    assert put_together(frame, {"seen": "no", "how_far": 1200}) == {"targets": [None]}


def test_settings_are_put_together_and_read_by_type():
    whole = put_together(SETTINGS, {"reach": 45, "linger": 30, "lamp": "on"})
    assert fields(SETTINGS.schema, whole) == {
        MAX_DISTANCE: 4500,
        HOLD_TIME: 30,
        INDICATOR_LIGHT: True,
    }
    assert put_together(SETTINGS, {"linger": 30}) == {"linger": 30}
    assert put_together(SETTINGS, {}) is None


def test_only_the_settings_that_differ_are_written():
    standing = {"reach": 45, "linger": 30, "lamp": "on"}
    wanted = with_fields(
        SETTINGS, put_together(SETTINGS, standing), {MAX_DISTANCE: 5000, INDICATOR_LIGHT: True}
    )
    assert taken_apart(SETTINGS, wanted, standing) == {"reach": 50}
    assert taken_apart(SETTINGS, wanted, {}) == {"reach": 50, "linger": 30, "lamp": "on"}


def test_an_area_of_four_zeros_is_not_there():
    assert put_together(AREAS, STANDING) == {
        "areas": [{"left": -100, "right": 100, "near": 50, "far": 300}, None, None]
    }


def test_what_means_absent_by_a_member_that_is_no_part_never_holds():
    unit = thing(
        properties={
            "how_far": {"@type": "pres:TargetRange", "forms": [{"href": "/d"}]},
            "frame": {
                "@type": "pres:TargetFrame",
                "properties": {"targets": {"items": {"pres:absent": {"d": 0, "ghost": 0}}}},
                "pres:parts": [{"property": "how_far", "at": "/targets/0/d"}],
            },
        }
    )
    assert put_together(unit.properties["frame"], {"how_far": 0}) == {"targets": [{"d": 0}]}


def test_an_entry_that_goes_becomes_what_means_absent():
    assert taken_apart(AREAS, {"areas": [None, None, None]}, STANDING) == area(1, 0, 0, 0, 0)


def test_an_entry_that_goes_writes_nothing_where_nothing_means_absent():
    assert taken_apart(FRAME, {"targets": [None]}, TWO) == {}


def test_what_the_value_does_not_name_is_left_alone():
    assert taken_apart(AREAS, {"areas": [{"left": -90}]}, STANDING) == {"place1left": -90}
    assert taken_apart(AREAS, None, STANDING) == {}


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({"areas": [None] * PLACES + [{"left": 3}]}, "no part for areas/3/left"),
        ({"areas": [{"height": 3}]}, "no part for areas/0/height"),
        ({"extra": True}, "no part for extra"),
        (7, "no part for the whole"),
    ],
)
def test_what_has_no_part_is_refused(value, words):
    with pytest.raises(PlanError, match=words):
        taken_apart(AREAS, value, STANDING)


def test_a_single_part_may_be_the_whole_and_a_part_may_hold_an_object():
    unit = thing(
        properties={
            "deep": {"type": "object", "forms": [{"href": "/d"}]},
            "p": {"pres:parts": [{"property": "deep", "at": ""}]},
        }
    )
    p = unit.properties["p"]
    assert put_together(p, {"deep": {"x": [1]}}) == {"x": [1]}
    assert taken_apart(p, {"x": [2]}, {"deep": {"x": [1]}}) == {"deep": {"x": [2]}}


def test_the_names_that_are_needed_are_each_named_once_conditions_first():
    assert names_needed(FRAME)[:2] == ("bodies", "body1right")
    assert len(names_needed(FRAME)) == 7


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (1, 1.0, True),
        (1, True, False),
        (True, True, True),
        (0, False, False),
        (3.2, 3.200000047683716, True),
        (320, 321, False),
        (10_000_000, 10_000_001, False),
        (5, 5.000001, True),
        (5.0, "5", False),
        (None, None, True),
        ("a", "a", True),
        ([1], [1], True),
    ],
)
def test_sameness(one, other, expected):
    assert same(one, other) is expected
    assert same(other, one) is expected


def test_edges_go_in_an_order_without_an_invalid_rectangle():
    wanted = {"areas": [{"left": 150, "right": 200, "near": 350, "far": 400}]}
    writes = in_order(AREAS, STANDING, taken_apart(AREAS, wanted, STANDING))
    assert dict(writes) == area(1, 150, 200, 350, 400)
    names = [name for name, _ in writes]
    assert names.index("place1right") < names.index("place1left")
    assert names.index("place1far") < names.index("place1near")


def test_an_area_without_width_is_refused_unless_it_means_absent():
    with pytest.raises(PlanError, match="place 0 of places would be left without width or depth"):
        in_order(AREAS, STANDING, {"place1left": 100})
    gone = area(1, 0, 0, 0, 0)
    assert dict(in_order(AREAS, STANDING, gone)) == gone


def test_an_edge_whose_fellows_are_unknown_is_written_as_it_comes():
    assert in_order(AREAS, {}, {"place1left": 100}) == [("place1left", 100)]
    assert in_order(SETTINGS, {}, {"reach": 5}) == [("reach", 5)]
