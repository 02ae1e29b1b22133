"""Parts of a property, and what is wrong with them."""

import json

import pytest

from fleet.description import vocabulary as pres
from fleet.description.assembly import schema_at
from fleet.description.parts import Part
from fleet.description.things import read_thing
from tests.unit.description.samples import URL, document, td_schema, thing
from tests.unit.description.scattered import scattered


def scalar(**schema):
    return {"type": "integer", **schema, "forms": [{"href": "/x"}]}


def whole(*parts, **more):
    properties = {
        "a": scalar(),
        "b": scalar(),
        "cm": scalar(unit="cm"),
        "dead": {"type": "integer", "forms": [{"href": "ftp://x/"}]},
        "other": {"pres:parts": [{"property": "a", "at": "/a"}]},
        "p": {"pres:parts": [*parts], **more},
    }
    return thing(properties=properties)


def test_parts_are_read_and_the_whole_has_no_forms_of_its_own():
    count = {"property": "b", "atLeast": 2}
    read = whole({"property": "a", "at": "/list/1/a~1b", "when": count})
    found = read.properties["p"]
    assert found.parts == (Part("a", ("list", "1", "a/b"), "b", 2, read.properties["b"].schema),)
    assert found.parts[0].entry == ("list", "1")
    assert found.forms == ()
    assert found.observable
    assert read.properties["a"].parts == ()


def test_a_part_of_no_list_belongs_to_no_entry():
    assert whole({"property": "a", "at": "/x/y"}).properties["p"].parts[0].entry == ()
    assert whole({"property": "a", "at": ""}).properties["p"].parts[0].at == ()


def test_what_stands_at_a_place_is_described_by_the_part():
    own = {
        "type": "object",
        "properties": {"c": {"unit": "mm", "title": "C", "@type": "pres:SensorX"}},
    }
    found = whole({"property": "cm", "at": "/c"}, {"property": "a", "at": "/l/2/x"}, **own)
    schema = found.properties["p"].schema
    assert schema_at(schema, ("c",)) == {
        "type": "integer",
        "unit": "cm",
        "title": "C",
        "@type": [pres.SENSOR_X],
    }
    assert schema["properties"]["l"] == {
        "type": "array",
        "items": {"type": "object", "properties": {"x": {"type": "integer"}}},
        "maxItems": 3,
    }
    assert schema_at(schema, ("none", "0")) == {}


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([3], "no property that could be a part is called ''"),
        ([{"property": "ghost", "at": "/x"}], "is called 'ghost'"),
        ([{"property": "p", "at": "/x"}], "is called 'p'"),
        ([{"property": "other", "at": "/x"}], "is called 'other'"),
        ([{"property": "dead", "at": "/x"}], "is called 'dead'"),
        ([{"property": "a"}], "a doesn't say where it goes"),
        ([{"property": "a", "at": "x"}], "begins with a slash"),
        ([{"property": "a", "at": "/~2"}], "has ~ only as ~0"),
        ([{"property": "a", "at": "/" + "x" * 300}], "too long a pointer"),
        ([{"property": "a", "at": "/x" * 9}], "deeper than 8 steps"),
        ([{"property": "a", "at": "/l/64"}], "no more than 64 places"),
        ([{"property": "a", "at": "/l/0", "when": 3}], "is called ''"),
        ([{"property": "a", "at": "/l/0", "when": {"property": "p"}}], "is called 'p'"),
        (
            [{"property": "a", "at": "/l/0", "when": {"property": "b", "atLeast": True}}],
            "asks for a number that is none",
        ),
        ([{"property": "a", "at": "/l", "when": {"property": "b"}}], "goes into no list"),
        ([{"property": "a", "at": "/x"}, {"property": "b", "at": "/x"}], "b would go where a goes"),
        ([{"property": "a", "at": "/x"}, {"property": "b", "at": "/x/y"}], "b would go where a"),
        ([{"property": "a", "at": "/x/y"}, {"property": "b", "at": "/x"}], "where another goes"),
        ([{"property": "a", "at": "/x/0"}, {"property": "b", "at": "/x/y"}], "takes for a list"),
        (
            [{"property": "a", "at": "/x/0/y"}, {"property": "cm", "at": "/x/1/y"}],
            "cm means something else",
        ),
    ],
)
def test_a_part_that_breaks_a_rule_is_left_out_and_complained_about(parts, words):
    found = whole(*parts)
    assert words in " ".join(found.complaints)
    assert len(found.properties["p"].parts) == len(parts) - 1


def test_a_property_without_a_sound_part_is_said_to_have_none():
    found = whole({"property": "ghost", "at": "/x"})
    assert "p: it has no part that it could be put together from" in found.complaints
    assert found.properties["p"].parts == ()


def test_parts_win_over_forms_which_the_standard_asks_for():
    found = whole({"property": "a", "at": "/x"}, forms=[{"href": "/p"}])
    assert not any(complaint.startswith("p: ") for complaint in found.complaints)
    assert found.properties["p"].forms == ()


def test_the_number_of_parts_is_bounded():
    found = whole(*[{"property": "a", "at": f"/m{place}"} for place in range(300)])
    assert len(found.properties["p"].parts) == 256
    assert "p: only 256 of 300 parts were read" in found.complaints


def test_the_official_schema_is_not_held_against_a_property_of_parts_for_having_no_forms():
    read = read_thing(json.dumps(scattered()).encode(), URL, td_schema=td_schema())
    assert read.complaints == ()
    broken = document(properties={"p": {"title": 3, "pres:parts": []}})
    said = read_thing(json.dumps(broken).encode(), URL, td_schema=td_schema()).complaints
    assert any(text.startswith("at /properties/p/title") for text in said)
