import json

import pytest

from fleet.description import vocabulary as pres
from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.things import read_thing
from fleet.model.reports import AreaOccupied, OccupancyReport, Report, Target
from tests.unit.description.samples import URL, example, with_property

NOON_MS = 1_795_608_000_123
NOON = "2026-11-25T12:00:00.123Z"


def unit(name):
    return read_thing(example(name), URL)


TRACKING = ReportReader(unit("tracking").property_of(pres.TARGET_FRAME))
OCCUPANCY = OccupancyReader(unit("tracking").property_of(pres.OCCUPANCY))


def report(targets, **more):
    return json.dumps({"time": NOON, "number": 7, "targets": targets, **more}).encode()


def test_a_report_is_read():
    sent = report([{"id": 1, "x": -1200, "y": 3400, "speed": -120}, {"x": 1.4, "y": 2}])
    assert TRACKING.read(sent) == Report(
        NOON_MS, 7, (Target(-1200, 3400, None, -120, 1), Target(1, 2))
    )


def test_text_is_read_as_bytes_are_and_an_empty_report_is_one():
    assert TRACKING.read('{"targets": []}') == Report(None, None, ())


def test_a_distance_only_report_is_read():
    reader = ReportReader(unit("static").property_of(pres.TARGET_FRAME))
    assert reader.read(report([{"range": 2500}])).targets == (Target(range_mm=2500),)


def test_own_names_and_units_are_understood_by_type():
    item = {
        "type": "object",
        "properties": {
            "rechts": {"@type": "pres:SensorX", "type": "number", "unit": "m"},
            "weg": {"@type": "pres:SensorY", "type": "number", "unit": "cm"},
            "wer": {"@type": "pres:TargetId", "type": "string"},
            "tempo": {"@type": "pres:RadialSpeed", "type": "number", "unit": "fortnight"},
        },
    }
    frame = with_property(
        {
            "@type": "pres:TargetFrame",
            "type": "object",
            "properties": {
                "note": {"type": "string"},
                "bodies": {"type": "array", "items": item},
                "at": {"@type": "pres:SampleTime", "type": "string"},
            },
        }
    ).properties["p"]
    sent = {"at": NOON, "bodies": [{"rechts": -1.25, "weg": 120, "wer": "a", "tempo": 3}]}
    assert ReportReader(frame).read(json.dumps(sent)) == Report(
        NOON_MS, None, (Target(-1250, 1200),)
    )


@pytest.mark.parametrize(
    "members",
    [
        {"a": ["pres:SensorX", "pres:SensorY", "pres:TargetId"]},
        {"a": ["pres:SensorX"], "b": ["pres:SensorY"], '"\\': ["pres:TargetId"]},
    ],
)
def test_a_member_that_is_two_things_and_one_of_an_odd_name_are_read_as_well(members):
    item = {name: {"@type": types, "type": "integer"} for name, types in members.items()}
    frame = with_property(
        {
            "@type": "pres:TargetFrame",
            "properties": {"targets": {"items": {"type": "object", "properties": item}}},
        }
    ).properties["p"]
    sent = json.dumps({"targets": [dict.fromkeys(members, 5)]})
    assert ReportReader(frame).read(sent) == Report(None, None, (Target(5, 5, slot=5),))


@pytest.mark.parametrize(
    ("sent", "reason"),
    [
        (b"", "no JSON"),
        (b'{"targets": [', "no JSON"),
        (b'{"targets": "\xff"}', "no JSON"),
        (b'{"a": 1e999}', "no JSON"),
        (b'{"a": NaN}', "no JSON"),
        (b"[" * 60_000, "no JSON"),
        (b"[]", "no JSON object"),
        (b" " * 70_000, "too long"),
        (b"{}", "targets are missing"),
        (report([{"x": 1, "y": 2}] * 4), "more targets than the unit can have"),
        (report([3]), "a target is no object"),
        (report([{}]), "a target has no place"),
        (report([{"x": 1}]), "a target has no place"),
        (report([{"x": "1", "y": 2}]), "sensor x is no number"),
        (report([{"x": True, "y": 2}]), "sensor x is no number"),
        (report([{"x": 10**9, "y": 2}]), "sensor x is out of range"),
        (report([{"x": 10**30, "y": 2}]), "sensor x is out of range"),
        (report([{"x": 1, "y": 2, "speed": -1e300}]), "radial speed is out of range"),
        (report([], number=-1), "report number is out of range"),
        (report([], number=[]), "report number is no number"),
        (report([], time="yesterday"), "the sample time is no time"),
        (report([], time="2026-11-25T12:00:00"), "the sample time is no time"),
        (report([], time=3), "the sample time is no time"),
        (report([], time="0001-01-01T00:00:00+23:59"), "the sample time is no time"),
    ],
)
def test_nonsense_is_a_complaint_with_a_reason_that_can_be_counted(sent, reason):
    assert TRACKING.read(sent) == Complaint(reason)


def test_occupancy_is_read():
    sent = {"time": NOON, "any": True, "areas": [{"id": "a", "occupied": False, "count": 0}]}
    assert OCCUPANCY.read(json.dumps(sent)) == OccupancyReport(
        NOON_MS, True, (AreaOccupied("a", False, 0),)
    )
    assert OCCUPANCY.read(b'{"any": false}') == OccupancyReport(None, False)


@pytest.mark.parametrize(
    ("sent", "reason"),
    [
        ({}, "occupancy is neither true nor false"),
        ({"any": 1}, "occupancy is neither true nor false"),
        ({"any": True, "areas": {}}, "areas are no list of a likely length"),
        ({"any": True, "areas": [{}] * 300}, "areas are no list of a likely length"),
        ({"any": True, "areas": [3]}, "an area is no object"),
        ({"any": True, "areas": [{"occupied": True}]}, "an area has no id"),
        ({"any": True, "areas": [{"id": "a"}]}, "an area's occupancy is neither true nor false"),
        (
            {"any": True, "areas": [{"id": "a", "occupied": True, "count": 999}]},
            "target count is out of range",
        ),
    ],
)
def test_nonsense_of_occupancy_is_a_complaint(sent, reason):
    assert OCCUPANCY.read(json.dumps(sent)) == Complaint(reason)


def test_a_frame_that_describes_nothing_still_needs_a_place_for_each_target():
    reader = ReportReader(with_property({"@type": "pres:TargetFrame"}).properties["p"])
    assert reader.read(b'{"targets": []}') == Report(None, None, ())
    assert reader.read(report([{"x": 1, "y": 2}])) == Complaint("a target has no place")


def test_a_member_that_may_be_null_is_read_where_it_is_none():
    item = {
        "properties": {"r": {"@type": "pres:TargetRange", "type": ["integer", "null"]}},
    }
    frame = {"properties": {"targets": {"type": "array", "items": item}}}
    reader = ReportReader(with_property(frame).properties["p"])
    assert reader.read(report([{"r": 5}])).targets == (Target(range_mm=5),)
    assert reader.read(report([{"r": None}])) == Complaint("a target has no place")
