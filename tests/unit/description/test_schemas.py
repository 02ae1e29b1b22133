import pytest

from fleet.description.schemas import members_of
from tests.unit.description.samples import with_property


def copied(**described):
    unit = with_property(described)
    return unit.properties["p"].schema, unit.complaints


def test_sound_keywords_are_copied_with_types_and_units_expanded():
    schema, complaints = copied(
        **{"@type": "pres:HoldTime"}, type="integer", unit="qunit:SEC", minimum=0, const=None
    )
    assert schema == {
        "@type": ["https://walkdown.example/presence#HoldTime"],
        "type": "integer",
        "unit": "http://qudt.org/vocab/unit/SEC",
        "minimum": 0,
        "const": None,
    }
    assert complaints == ()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("type", "word"),
        ("type", []),
        ("type", [None, "integer"]),
        ("minimum", "3"),
        ("maximum", True),
        ("multipleOf", 0),
        ("multipleOf", "x"),
        ("maxLength", -1),
        ("maxItems", 1.5),
        ("enum", []),
        ("required", [1]),
        ("required", "a"),
        ("readOnly", "yes"),
        ("title", 3),
        ("pattern", "(a+)+$"),
        ("pattern", "[a"),
        ("pattern", "a*" * 5),
        ("pattern", "a" * 200),
        ("pattern", 1),
        ("pattern", "a{9999999999999}"),
    ],
)
def test_a_keyword_that_can_not_be_used_is_left_out_with_a_complaint(key, value):
    schema, complaints = copied(**{key: value})
    assert key not in schema
    assert complaints == (f"p: the schema keyword {key} has a value that can't be used",)


def test_references_are_never_copied():
    schema, _ = copied(**{"$ref": "http://evil.example/s", "$id": "http://evil.example/"})
    assert schema == {}


def test_an_empty_choice_is_no_choice():
    assert copied(oneOf=[], anyOf=[])[0] == {}


def test_members_of_branches_count_and_own_members_win():
    schema, _ = copied(
        oneOf=[{"properties": {"a": {"minimum": 1}, "b": {}}}, {"properties": {"c": {}}}],
        properties={"a": {"minimum": 2}},
        items={"type": "string"},
    )
    assert set(members_of(schema)) == {"a", "b", "c"}
    assert members_of(schema)["a"] == {"minimum": 2}
    assert schema["items"] == {"type": "string"}


def test_a_unit_that_can_not_be_converted_is_complained_about():
    assert copied(**{"@type": "pres:HoldTime"}, unit="fortnight")[1] == (
        "p: hold time comes in fortnight, which can't be converted; it is left as it comes",
    )
