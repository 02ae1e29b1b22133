"""Factor and words of a schema, both ways."""

import pytest

from fleet.description import vocabulary as pres
from fleet.description.checking import check_value
from fleet.description.meanings import meaning_of
from fleet.description.values import fields, with_fields
from fleet.model.errors import PlanError
from tests.unit.description.samples import with_property


def one(**schema):
    return with_property(schema).properties["p"]


TENTHS = {"@type": "pres:TargetAngle", "type": "integer", "unit": "deg", "pres:factor": 0.1}
LAMP = {"@type": "pres:IndicatorLight", "type": "string", "pres:words": {"on": True, "off": False}}


@pytest.mark.parametrize(
    ("schema", "theirs", "ours"),
    [
        (TENTHS, 905, 90_500),
        (TENTHS, -3, -300),
        ({**TENTHS, "unit": "rad", "pres:factor": 0.001, "type": "number"}, 1571, 90_012),
        ({"@type": "pres:SensorX", "type": "integer", "unit": "cm", "pres:factor": -1}, 25, -250),
        ({"@type": "pres:Humidity", "type": "number", "unit": "%"}, 45.5, 455),
        ({"@type": "pres:Humidity", "type": "integer", "unit": "qunit:PERMILLE"}, 455, 455),
        ({"type": "integer", "unit": "V", "pres:factor": 0.01}, 331, 3.31),
        (LAMP, "on", True),
        (LAMP, "off", False),
        ({**LAMP, "type": "integer", "pres:words": {"1": True, "0": False}}, 0, False),
        ({**LAMP, "type": "boolean", "pres:words": {"true": False, "false": True}}, True, False),
        ({"@type": "pres:Motion", "type": "string", "pres:words": {"moved": True}}, "moved", True),
        ({"@type": "pres:Sensitivity", "type": "number", "pres:words": {"1.5": 30}}, 1.5, 30),
        (
            {"@type": "pres:Sensitivity", "type": "string", "pres:words": {"lo": 20, "hi": 80}},
            "hi",
            80,
        ),
    ],
)
def test_values_go_both_ways(schema, theirs, ours):
    affordance = one(**schema)
    read = fields(affordance.schema, theirs)
    assert [*read.values()] in ([ours], [])
    meaning = meaning_of("p", affordance.schema)
    assert meaning.ours(theirs) == ours
    if schema.get("unit") != "rad":
        assert meaning.theirs(ours) == theirs


def test_a_word_that_is_not_listed_stands_as_it_came():
    assert fields(one(**LAMP).schema, "dim") == {pres.INDICATOR_LIGHT: "dim"}
    assert meaning_of("p", one(**LAMP).schema).ours(["on", "dim"]) == [True, "dim"]


def test_what_the_unit_has_no_word_for_is_refused_in_a_sentence():
    with pytest.raises(
        PlanError, match="no word for indicator light dim; it has some for True, Fa"
    ):
        with_fields(one(**LAMP), "on", {pres.INDICATOR_LIGHT: "dim"})
    with pytest.raises(PlanError, match="no word for indicator light 1"):
        with_fields(one(**LAMP), "on", {pres.INDICATOR_LIGHT: 1})
    plain = one(type="string", **{"pres:words": {"hi": 80}})
    with pytest.raises(PlanError, match="no word for p 30"):
        meaning_of("p", plain.schema).theirs(30)


def test_a_number_besides_words_is_written_where_the_unit_takes_numbers():
    schema = {"@type": "pres:HoldTime", "type": ["integer", "string"], "unit": "min"}
    meaning = meaning_of("p", one(**schema, **{"pres:words": {"ever": 0}}).schema)
    assert meaning.theirs(0) == "ever"
    assert meaning.theirs(120) == 2
    assert meaning.ours("ever") == 0


def test_of_several_words_the_one_that_stands_stays():
    words = {"on": True, "auto": True, "off": False}
    holder = one(type="object", properties={"lamp": {**LAMP, "pres:words": words}})
    change = {pres.INDICATOR_LIGHT: True}
    assert with_fields(holder, {"lamp": "auto"}, change) == {"lamp": "auto"}
    assert with_fields(holder, {"lamp": "off"}, change) == {"lamp": "on"}
    assert with_fields(holder, {}, change) == {"lamp": "on"}


def test_a_unit_that_cannot_be_converted_still_gets_its_factor():
    schema = {"@type": "pres:HoldTime", "type": "integer", "unit": "fortnight", "pres:factor": 0.5}
    assert fields(one(type="object", properties={"h": schema}).schema, {"h": 4}) == {"h": 2}


@pytest.mark.parametrize("factor", [0, 1e-12, 1e12, True, "2", None])
def test_a_factor_that_is_none_is_complained_about_and_left_out(factor):
    thing = with_property({"type": "integer", "pres:factor": factor})
    assert pres.FACTOR not in thing.properties["p"].schema
    assert thing.complaints == ("p: the schema's factor has a value that can't be used",)


@pytest.mark.parametrize(
    "words", [{}, [], {"x" * 65: 1}, {"a": None}, {"a": [1]}, {str(i): i for i in range(65)}]
)
def test_words_that_are_none_are_complained_about_and_left_out(words):
    thing = with_property({"type": "string", "pres:words": words})
    assert pres.WORDS not in thing.properties["p"].schema
    assert thing.complaints == ("p: the schema's words has a value that can't be used",)


def test_a_huge_number_times_a_factor_is_still_a_number():
    meaning = meaning_of("p", one(type="number", **{"pres:factor": 1e9}).schema)
    assert meaning.ours(1e308) == int(1e308) * 10**9
    assert meaning.theirs(1e308) == pytest.approx(1e299)


def test_a_refusal_shows_numbers_as_the_unit_means_them():
    tenths = one(**TENTHS, maximum=900)
    with pytest.raises(PlanError, match=r"target angle 90\.5 deg is above the unit's 90 deg"):
        check_value(with_property({**TENTHS, "maximum": 900}).properties["p"], 905, "U1")
    check_value(tenths, 900, "U1")
