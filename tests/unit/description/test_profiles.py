import json

import pytest
from jsonschema import Draft202012Validator

from fleet.description.located import FileMistakeError
from fleet.description.profile_parts import Match, Origin, Source, ValueType
from fleet.description.profiles import read_profile
from tests.unit.description.profile_samples import (
    SOUND,
    broker_profile,
    changed,
    line_of,
    profile,
)
from tests.unit.description.samples import ROOT

SCHEMA = Draft202012Validator(
    json.loads((ROOT / "resources/schemas/profile.schema.json").read_text(encoding="utf-8"))
)
MATCH = '{"service_type": "_wd-small._tcp", "txt": {"Speaks": ["1", "2"]}}'
HOST = '{"from": "address", "part": "host"}'
REACH = '{"from": "http", "path": "/can", "pointer": "/reach/mm", "type": "integer"}'


def test_a_sound_profile_is_read():
    read = profile()
    assert (read.name, read.note, read.scheme) == ("small-example", "Invented for tests.", "http")
    assert read.match == Match("_wd-small._tcp", {"speaks": ("1", "2")})
    assert read.placeholders == {
        "HOST": Source(Origin.ADDRESS, key="host"),
        "PORT": Source(Origin.ADDRESS, ValueType.INTEGER, key="port"),
        "SERIAL": Source(Origin.TXT, key="plate"),
        "REACH": Source(Origin.HTTP, ValueType.INTEGER, path="/can", pointer=("reach", "mm")),
    }


def test_a_profile_for_units_behind_a_broker_is_read():
    read = broker_profile()
    assert (read.match, read.scheme) == (Match(announcement="wd/+/here"), "mqtt")
    assert read.placeholders["SERIAL"] == Source(Origin.MQTT, level=2)
    assert read.placeholders["REACH"].pointer == ("reach",)


def test_a_profile_without_a_match_is_for_an_address_that_a_person_names():
    assert profile((f' "match": {MATCH},\n', "")).match == Match()


@pytest.mark.parametrize(
    ("source", "read"),
    [
        ('{"from": "advert"}', Source(Origin.ADVERT)),
        ('{"from": "const", "value": "x"}', Source(Origin.CONST, value="x")),
        (
            '{"from": "const", "value": true, "type": "boolean"}',
            Source(Origin.CONST, ValueType.BOOLEAN, value=True),
        ),
    ],
)
def test_a_value_may_come_from_the_advert_or_from_the_profile(source, read):
    assert profile((REACH, source)).placeholders["REACH"] == read


def test_the_scheme_is_that_of_the_base():
    secure = profile(('"base": "http://', '"base": "HTTPS://'))
    assert secure.scheme == "https"
    relative = profile(('"base": "http://{{HOST}}:{{PORT}}/"', '"base": "/{{HOST}}/{{PORT}}"'))
    assert relative.scheme == "http"


# Each with what it is changed from, and the member whose line is to be named. The shipped JSON Schema
# refuses those that say so.
SHAPES = [
    ('"walkdown.profile.1"', '"walkdown.profile.2"', '"format"', "format is"),
    ('"format": "walkdown.profile.1",', "", "", "format is"),
    ('"small-example"', '"Small"', '"name"', "lower-case words"),
    ('"small-example"', '"a-b-"', '"name"', "lower-case words"),
    ('"small-example"', f'"{"a" * 41}"', '"name"', "lower-case words"),
    ('"small-example"', "3", '"name"', "name is a text"),
    ('"Invented for tests."', '""', '"note"', "note is a text"),
    (' "note": "Invented for tests.",\n', "", "", "note is missing"),
    ('"note"', '"notes": 1, "note"', '"note"', "'notes' has no place here"),
    (MATCH, "[]", '"match"', "match is an object"),
    (MATCH, "{}", '"match"', "service_type is missing"),
    ('"_wd-small._tcp"', '"_wd-small._sctp"', '"match"', "no service type"),
    ('"_wd-small._tcp"', '"_wd--small._tcp"', '"match"', "no service type"),
    ('"_wd-small._tcp"', '"_0123._tcp"', '"match"', "no service type"),
    ('"_wd-small._tcp"', '"_abcdefghijklmnop._tcp"', '"match"', "no service type"),
    ('"_wd-small._tcp"', "5", '"match"', "service_type is a text"),
    ('{"Speaks": ["1", "2"]}', "[]", '"match"', "txt is an object"),
    ('["1", "2"]', "[]", '"match"', "a TXT key stands for"),
    ('["1", "2"]', '["1", 2]', '"match"', "a TXT key stands for"),
    ('["1", "2"]', "1", '"match"', "a TXT key stands for"),
    ('["1", "2"]}', '["1"]}, "host": "x"', '"match"', "'host' has no place"),
    (MATCH, '{"mqtt": "wd/+/here", "txt": {}}', '"match"', "'txt' has no place"),
    (MATCH, '{"mqtt": "wd/#"}', '"match"', "no #"),
    (MATCH, '{"mqtt": "wd/a+/x"}', '"match"', "a whole level"),
    (MATCH, '{"mqtt": "wd/x"}', '"match"', "at least one"),
    (MATCH, '{"mqtt": "$SYS/+"}', '"match"', "no \\$ first"),
    (MATCH, '{"mqtt": "wd/+/\\u0000"}', '"match"', "control characters"),
    (MATCH, '{"mqtt": "+' + "/a" * 32 + '"}', '"match"', "at most 32 levels"),
    ('"HOST": {', '"host": {', '"HOST": {', "no placeholder's name"),
    (HOST, '"host"', '"HOST": {', "HOST is an object"),
    (HOST, '{"part": "host"}', '"HOST": {', "from is one of txt"),
    (HOST, '{"from": "dns", "part": "host"}', '"HOST": {', "from is one of txt"),
    (HOST, '{"from": "address"}', '"HOST": {', "part is missing"),
    (HOST, '{"from": "address", "part": "path"}', '"HOST": {', "host or port"),
    (HOST, '{"from": "address", "part": "host", "x": 1}', '"HOST": {', "'x' has no place"),
    (HOST, '{"from": "address", "part": "host", "type": "float"}', '"HOST": {', "type is one"),
    (HOST, '{"from": "address", "part": "host", "type": 1}', '"HOST": {', "type is one"),
    ('"key": "Plate"', '"key": ""', '"SERIAL": {', "key is a text"),
    ('"path": "/can"', '"path": "can"', '"REACH": {', "begins with one slash"),
    ('"path": "/can"', '"path": "//evil.example/can"', '"REACH": {', "begins with one slash"),
    ('"path": "/can"', '"path": "/c an"', '"REACH": {', "begins with one slash"),
    ('"pointer": "/reach/mm"', '"pointer": "reach"', '"REACH": {', "a JSON pointer"),
    ('"pointer": "/reach/mm"', '"pointer": 1', '"REACH": {', "pointer is a text"),
    (REACH, '{"from": "const"}', '"REACH": {', "value is missing"),
    (REACH, '{"from": "const", "value": null}', '"REACH": {', "isn't of the type text"),
    (REACH, '{"from": "const", "value": [1]}', '"REACH": {', "isn't of the type text"),
    (REACH, '{"from": "mqtt", "level": 0}', '"REACH": {', "level counts from 1"),
    (REACH, '{"from": "mqtt", "level": true}', '"REACH": {', "level counts from 1"),
    (REACH, '{"from": "mqtt"}', '"REACH": {', "level is missing"),
]
RULES = [
    ('"path": "/can"', '"path": "/a/../can"', '"REACH": {', "begins with one slash"),
    ('"path": "/can"', '"path": "/a/%2E."', '"REACH": {', "begins with one slash"),
    (REACH, '{"from": "const", "value": 1}', '"REACH": {', "isn't of the type text"),
    (
        REACH,
        '{"from": "const", "value": true, "type": "integer"}',
        '"REACH": {',
        "isn't of the type integer",
    ),
    (REACH, '{"from": "mqtt", "level": 2}', '"REACH": {', "match names none"),
    ('"maximum": "{{REACH}}"', '"maximum": 9', '"REACH": {', "REACH is used nowhere"),
    ('"maximum": "{{REACH}}"', '"maximum": "{{FAR}}"', '"maximum"', "FAR is used here"),
    ('"maximum": "{{REACH}}"', '"maximum": "{{reach}}"', '"maximum"', "double braces hold"),
    ('"maximum": "{{REACH}}"', '"maximum": "{{REACH"', '"maximum"', "double braces hold"),
    ('"reach": {', '"{{REACH}}": {', '"reach": {', "can't stand in a name"),
    ('"pres:Settings"', '"pres:{{SERIAL}}"', '"pres:Settings"', "can't stand in @context"),
    ('presence#"', 'presence#{{SERIAL}}"', 'presence#"', "can't stand in @context"),
    ('"title"', '"tm:ref": "x", "title"', '"title"', "tm:ref isn't followed"),
    ('"title"', '"links": [{"rel": "tm:extends"}], "title"', '"title"', "tm:extends isn't"),
    ('"http://{{HOST}}', '"{{SERIAL}}://{{HOST}}', '"base"', "base begins with one of"),
    ('"units/', '"{{SERIAL}}:units/', '"units/', "how a unit is spoken to"),
    ('"http://{{HOST}}', '"http://{{SERIAL}}.{{HOST}}', '"base"', "SERIAL can't say which host"),
    ('"http://{{HOST}}', '"ftp://{{HOST}}', '"base"', "base begins with one of"),
    ('"units/', '"//{{SERIAL}}/', '"units/', "SERIAL can't say which host"),
    ("{?page}", "{?{{SERIAL}}}", "{?page}", "braces of a URI template"),
]


@pytest.mark.parametrize(("old", "new", "where", "reason"), SHAPES + RULES)
def test_a_mistake_is_told_with_the_line_of_the_member(old, new, where, reason):
    with pytest.raises(FileMistakeError, match=reason) as caught:
        read_profile(changed((old, new)), "p.json")
    assert caught.value.line == (line_of(where) if where else 1)
    assert str(caught.value).startswith(f"p.json:{caught.value.line}: ")


@pytest.mark.parametrize(("old", "new", "where", "reason"), SHAPES)
def test_the_shipped_schema_refuses_the_same_shapes(old, new, where, reason):
    assert not SCHEMA.is_valid(json.loads(changed((old, new))))


def test_the_shipped_schema_takes_what_is_sound():
    assert SCHEMA.is_valid(json.loads(SOUND))


@pytest.mark.parametrize(("raw", "reason"), [(b"[]", "is a JSON object"), (b'"x"', "is a JSON")])
def test_a_profile_is_an_object(raw, reason):
    with pytest.raises(FileMistakeError, match=reason):
        read_profile(raw, "p.json")


@pytest.mark.parametrize("member", ["placeholders", "thing_model"])
def test_the_large_parts_are_objects(member):
    raw = {**json.loads(SOUND), member: []}
    with pytest.raises(FileMistakeError, match=f"{member} is an object"):
        read_profile(json.dumps(raw).encode(), "p.json")


def test_only_so_many_placeholders_are_read():
    raw = json.loads(SOUND)
    raw["placeholders"] |= {f"P{n}": {"from": "advert"} for n in range(61)}
    with pytest.raises(FileMistakeError, match="at most 64 placeholders"):
        read_profile(json.dumps(raw).encode(), "p.json")


@pytest.mark.parametrize(
    ("part", "value", "reason"),
    [
        ("SERIAL", {"from": "mqtt", "level": 3}, "level 3 of the filter in match is no +"),
        ("SERIAL", {"from": "mqtt", "pointer": "/serial"}, "nothing reads the \\+ at level 2"),
        ("REACH", {"from": "txt", "key": "reach"}, "comes from an advert, and match is a broker's"),
    ],
)
def test_announcement_and_placeholders_fit_each_other(part, value, reason):
    raw = json.loads(SOUND)
    raw["match"] = {"mqtt": "wd/+/here"}
    raw["placeholders"] |= {"SERIAL": {"from": "mqtt", "level": 2}, part: value}
    with pytest.raises(FileMistakeError, match=reason):
        read_profile(json.dumps(raw).encode(), "p.json")
