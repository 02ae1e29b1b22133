import json

import pytest

from fleet.description.profile_check import Mistake, check_profile
from tests.unit.description.profile_samples import SOUND, changed, line_of
from tests.unit.description.samples import ROOT, td_schema

SHIPPED = sorted((ROOT / "resources" / "profiles").glob("*.json"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_each_shipped_profile_is_sound_and_says_that_it_is_invented(path):
    checked = check_profile(path.read_bytes(), path.name, td_schema())
    assert checked.mistakes == ()
    assert checked.profile.name == path.stem
    assert checked.profile.note.startswith("An invented example: nobody makes such a unit.")
    assert checked.thing.properties


def test_five_kinds_are_shipped():
    assert [path.stem for path in SHIPPED] == [
        "json-polling",
        "range-angle-stream",
        "scattered-mqtt",
        "scattered-polling",
        "socket-frames",
    ]


def test_a_sound_profile_shows_what_its_unit_will_look_like():
    checked = check_profile(SOUND.encode(), "p.json", td_schema())
    assert (checked.mistakes, checked.thing.title) == ((), "Unit SAMPLE")
    assert checked.thing.properties["wishes"].schema["properties"]["reach"]["maximum"] == 1000


def test_a_mistake_of_the_file_itself_ends_the_check():
    checked = check_profile(b"{\n,", "p.json")
    assert (checked.profile, checked.thing) == (None, None)
    assert [mistake.line for mistake in checked.mistakes] == [2]


@pytest.mark.parametrize(
    ("old", "new", "where", "reason"),
    [
        (
            '"wishes?of={{SERIAL}}"',
            '"wishes?of={{SERIAL}}", "contentType": 3',
            '"wishes?of',
            "content type",
        ),
        ('"wishes{?page}"', '"file:///wishes"', '"wishes{?page}"', "no http address"),
        (
            '"wishes{?page}"',
            '"wishes", "htv:methodName": "TRACE"',
            '"wishes{?page}"',
            "isn't spoken",
        ),
        (
            '"maximum": "{{REACH}}"',
            '"maximum": "{{REACH}} mm"',
            '"maximum"',
            "schema keyword maximum",
        ),
        ('"qunit:MilliM"', '"qunit:LUX"', '"wishes": {', "can't be converted"),
        (
            '"http://{{HOST}}:{{PORT}}/"',
            '"http://evil.example/{{HOST}}/{{PORT}}"',
            '"base"',
            "point to",
        ),
        ('"http://{{HOST}}:{{PORT}}/"', '"http://[{{HOST}}:{{PORT}}/"', '"base"', "its base is"),
        (
            '"pres:Identity"',
            '"pres:Other"',
            '"properties": {\n   "plate"',
            "so no unit has a serial",
        ),
        ('"pres:SerialNumber", ', '"pres:Other", ', '"plate": {\n', "is the pres:SerialNumber"),
        (
            '"href": "units/{{SERIAL}}/plate"',
            '"href": "x", "op": "observeproperty"',
            '"plate": {\n',
            "from nowhere",
        ),
        (
            '"pres:PresenceUnit"',
            '"pres:Other"',
            '"thing_model"',
            "doesn't say that it is a presence unit",
        ),
    ],
)
def test_what_a_unit_would_be_blamed_for_is_a_mistake_with_its_line(old, new, where, reason):
    mistakes = check_profile(changed((old, new)), "p.json").mistakes
    assert [(mistake.line, reason in mistake.sentence) for mistake in mistakes] == [
        (line_of(where), True)
    ]
    assert mistakes[0].sentence.endswith(".")


def test_the_official_schema_is_held_against_it_where_it_is_given():
    bent = changed(('"title": "Unit {{SERIAL}}"', '"titel": "Unit {{SERIAL}}"'))
    mistakes = check_profile(bent, "p.json", td_schema()).mistakes
    assert mistakes == (Mistake(line_of('"thing_model"'), mistakes[0].sentence),)
    assert "'title' is a required property" in mistakes[0].sentence


def test_a_complaint_of_the_official_schema_has_the_line_of_its_place():
    bent = changed(
        ('{"href": "wishes{?page}", "op": "readproperty"}', '{"href": "w", "op": "look"}')
    )
    lines = {mistake.line for mistake in check_profile(bent, "p.json", td_schema()).mistakes}
    assert line_of("wishes{?page}") in lines


def test_a_word_of_the_profiles_own_that_can_not_stand_where_it_is_to_stand_is_a_mistake():
    bent = changed(('{"from": "txt", "key": "Plate"}', '{"from": "const", "value": "a/b"}'))
    mistakes = check_profile(bent, "p.json").mistakes
    assert mistakes[0].line == line_of('"thing_model"')
    assert "filled with samples: SERIAL is to be a piece of a path" in mistakes[0].sentence


def test_a_serial_may_be_stated_or_put_together():
    raw = json.loads(SOUND)
    plate = raw["thing_model"]["properties"]["plate"]
    del plate["forms"]
    plate["properties"]["plate"]["const"] = "{{SERIAL}}"
    assert check_profile(json.dumps(raw).encode(), "p.json", td_schema()).mistakes == ()
    del plate["properties"]["plate"]["const"]
    plate["pres:parts"] = [{"property": "number", "at": "/plate"}]
    raw["thing_model"]["properties"]["number"] = {"type": "string", "forms": [{"href": "n"}]}
    assert check_profile(json.dumps(raw).encode(), "p.json", td_schema()).mistakes == ()


def test_a_serial_deeper_down_counts():
    serial = '"properties": {"plate": {"@type": "pres:SerialNumber", "type": "string"}}'
    deeper = f'"properties": {{"in": {{"type": "object", {serial}}}}}'
    bent = changed((serial, deeper))
    assert check_profile(bent, "p.json").mistakes == ()


def test_of_a_property_and_an_action_of_one_name_the_one_meant_is_found():
    action = """
  "actions": {"wishes": {
   "input": {
    "minLength": "x"
   },
   "forms": [{"href": "a"},
    {"href": "a", "contentType": 1}]
  }},
  "properties": {
   "plate": {"""
    bent = changed(('\n  "properties": {\n   "plate": {', action)).decode()
    found = check_profile(bent.encode(), "p.json").mistakes
    lines = bent.split("\n")
    assert [lines[mistake.line - 1].strip() for mistake in found] == [
        '"minLength": "x"',
        '{"href": "a", "contentType": 1}]',
    ]
