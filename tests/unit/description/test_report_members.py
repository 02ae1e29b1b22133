"""Range and angle, factor and words in reports."""

import json
from fractions import Fraction

import pytest

from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.report_members import x_and_y
from fleet.model.reports import Target
from tests.unit.description.samples import with_property

TYPES = {"r": "pres:TargetRange", "a": "pres:TargetAngle", "v": "pres:RadialSpeed"}


def reader(**members):
    inner = {
        name: {"@type": TYPES[name], "type": "number", **more} for name, more in members.items()
    }
    frame = {
        "@type": "pres:TargetFrame",
        "properties": {"targets": {"items": {"properties": inner}}},
    }
    return ReportReader(with_property(frame).properties["p"])


def targets(read, *sent):
    found = read.read(json.dumps({"targets": [*sent]}))
    return found if isinstance(found, Complaint) else found.targets


DEGREES = {"r": {"unit": "cm"}, "a": {"unit": "deg"}}


# Worked by hand from x = r·sin a, y = r·cos a with a from y (away) to x (right): sin 30° = 1/2,
# cos 36.8698976458° = 4/5 (the 3-4-5 triangle).
@pytest.mark.parametrize(
    ("range_cm", "angle_deg", "x_mm", "y_mm"),
    [
        (200, 0, 0, 2000),
        (200, 90, 2000, 0),
        (200, -90, -2000, 0),
        (200, 180, 0, -2000),
        (200, 30, 1000, 1732),
        (200, -30, -1000, 1732),
        (500, 36.8698976458, 3000, 4000),
        (200, 270, -2000, 0),
        (0, 45, 0, 0),
    ],
)
def test_range_and_angle_make_a_place(range_cm, angle_deg, x_mm, y_mm):
    made = targets(reader(**DEGREES), {"r": range_cm, "a": angle_deg})
    assert made == (Target(x_mm, y_mm),)


def test_radians_and_tenths_of_a_degree_are_angles_too():
    radians = reader(r={"unit": "m"}, a={"unit": "rad"})
    assert targets(radians, {"r": 2, "a": 0.5235987755982988}) == (Target(1000, 1732),)
    tenths = reader(r={"unit": "m"}, a={"unit": "deg", "pres:factor": 0.1})
    assert targets(tenths, {"r": 2, "a": -300}) == (Target(-1000, 1732),)
    assert targets(reader(r={}, a={}), {"r": 2000, "a": 30_000}) == (Target(1000, 1732),)


def test_a_range_without_its_angle_is_a_distance_and_an_angle_alone_no_place():
    assert targets(reader(**DEGREES), {"r": 200}) == (Target(range_mm=2000),)
    assert targets(reader(**DEGREES), {"a": 20}) == Complaint("a target has no place")


def test_halves_of_a_millimetre_are_rounded_to_even_exactly():
    # math.sin(30°) is a hair below 1/2, so 501.5 would come out as 501 without the exact sine.
    assert x_and_y(Fraction(1003), Fraction(30_000))[0] == 502
    assert x_and_y(Fraction(1001), Fraction(30_000))[0] == 500
    assert x_and_y(Fraction(1003), Fraction(-60_000)) == (-869, 502)


def test_range_and_angle_are_rounded_once():
    # 1001.4 mm at 30° is 500.7 mm to the right; from 1001 mm it would be 500.5, and so 500.
    assert targets(reader(**DEGREES), {"r": 100.14, "a": 30}) == (Target(501, 867),)


@pytest.mark.parametrize("angle", [361, -361, "north", True])
def test_an_angle_that_is_none_is_a_complaint(angle):
    assert isinstance(targets(reader(**DEGREES), {"r": 200, "a": angle}), Complaint)


def test_numbers_may_come_as_words_that_the_unit_explains():
    words = {"none": 0, "far": 6000, "odd": True}
    read = reader(r={"type": "string", "pres:words": words}, v={"pres:words": {"still": 0}})
    assert targets(read, {"r": "far", "v": "still"}) == (Target(range_mm=6000, speed_mm_s=0),)
    assert targets(read, {"r": "near"}) == Complaint("target range is no number")
    assert targets(read, {"r": "odd"}) == Complaint("target range is no number")
    angled = reader(r={"pres:words": {"arm": 700}}, a={"pres:words": {"right": 90_000}})
    assert targets(angled, {"r": "arm", "a": "right"}) == (Target(700, 0),)


def test_flags_may_come_as_words_that_the_unit_explains():
    frame = {
        "@type": "pres:Occupancy",
        "properties": {
            "who": {"@type": "pres:AnyOccupancy", "pres:words": {"some": True, "0": False}}
        },
    }
    read = OccupancyReader(with_property(frame).properties["p"])
    assert read.read('{"who": "some"}').occupied is True
    assert read.read('{"who": 0}').occupied is False
    assert read.read('{"who": false}').occupied is False
    assert read.read('{"who": "x"}') == Complaint("occupancy is neither true nor false")
