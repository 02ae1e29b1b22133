import json

import pytest

from fleet.description import vocabulary as pres
from fleet.description.security import SecurityScheme
from fleet.description.things import complaints_of, read_thing
from fleet.model.errors import UnitError
from tests.unit.description.samples import URL, document, example, td_schema, thing, with_property


def test_the_tracking_unit_is_found_by_its_types():
    unit = read_thing(example("tracking"), "https://unit-4b1f3a0e.local/td", td_schema=td_schema())
    assert unit.subject == unit.title == "Landing unit, Tannery Row 14"
    assert unit.complaints == ()
    assert unit.property_of(pres.TARGET_FRAME).observable
    assert unit.action_of(pres.IDENTIFY).name == "identify"
    assert unit.event_of(pres.FAULT).form("subscribeevent").subprotocol == "sse"
    assert unit.property_of(pres.BREATHING) is None
    assert unit.security == ((SecurityScheme("unit_basic", "basic", parameter="Authorization"),),)


def test_a_unit_without_a_title_goes_by_its_address():
    assert thing(title=None).subject == URL


def test_what_is_no_presence_unit_is_refused_unless_it_may_be():
    raw = json.dumps(document(**{"@type": "Thing"})).encode()
    with pytest.raises(UnitError, match="presence unit"):
        read_thing(raw, URL)
    assert read_thing(raw, URL, require_unit=False).title == "Test unit"


def test_too_many_affordances_are_refused():
    with pytest.raises(UnitError, match="600 affordances"):
        thing(properties={f"p{n}": {} for n in range(600)})


def test_a_poor_description_is_read_as_far_as_it_goes_with_complaints():
    unit = read_thing(
        json.dumps(
            document(
                base=7,
                properties={"good": {"type": "integer", "forms": [{"href": "g"}]}, "bad": 3},
                actions=["no"],
            )
        ).encode(),
        URL,
        td_schema=td_schema(),
    )
    assert list(unit.properties) == ["good"]
    assert "the property 'bad' can't be read" in unit.complaints
    assert any("is not of type 'object'" in complaint for complaint in unit.complaints)


def test_no_more_complaints_are_kept_than_anybody_reads():
    forms = [{"href": f"ftp://h{n}.example/"} for n in range(60)]
    assert len(with_property({"forms": forms}).complaints) == 32
    same = [{"href": 1}] * 5
    assert with_property({"forms": same}).complaints == (
        "p: a form was left out: it has no address",
    )


def test_names_that_look_alike_once_safe_are_not_confused():
    unit = thing(properties={"a": {"title": "first"}, "a\u202e": {}, "\u202e": {}})
    assert list(unit.properties) == ["a"]


@pytest.mark.parametrize(
    ("described", "ops"),
    [
        ({}, ["readproperty", "writeproperty"]),
        ({"readOnly": True}, ["readproperty"]),
        ({"writeOnly": True}, ["writeproperty"]),
    ],
)
def test_a_form_without_op_gets_the_default(described, ops):
    unit = with_property({**described, "forms": [{"href": "x"}]})
    assert [form.op for form in unit.properties["p"].forms] == ops


def test_actions_and_events_have_their_own_schemas_and_defaults():
    unit = thing(
        actions={
            "a": {
                "input": {"type": "integer"},
                "output": {"type": "string"},
                "forms": [{"href": "a"}],
            }
        },
        events={"e": {"data": {"type": "boolean"}, "forms": [{"href": "e"}]}},
    )
    action, event = unit.actions["a"], unit.events["e"]
    assert (action.schema, action.output) == ({"type": "integer"}, {"type": "string"})
    assert action.form("invokeaction").method == "POST"
    assert event.schema == {"type": "boolean"}
    assert event.form("subscribeevent").method == "GET"


def test_a_base_that_is_no_http_address_is_not_used():
    unit = with_property({"forms": [{"href": "x"}]}, base="ftp://a.example/")
    assert unit.properties["p"].form("readproperty").url == "http://192.0.2.7:8080/x"
    assert "its base is no address to be used" in unit.complaints[0]


def test_complaints_of_a_sound_description_are_none():
    assert complaints_of(json.loads(example("vital")), td_schema()) == ()
