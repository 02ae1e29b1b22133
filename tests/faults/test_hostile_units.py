"""Hostile units met over real sockets: refused or neutralised and said, nobody comes to another address,
and the unit beside it goes on.
"""

import json
import sys
from contextlib import suppress

import pytest
from aiohttp import web

from fleet.description.limits import MAX_SAID_CHARS
from fleet.description.vocabulary import RESTART
from fleet.model.errors import UnitError
from tests.faults.hostile_descriptions import HOSTILE_BYTES
from tests.faults.hostile_house import FRAME, HOSTILE, described, house, says, sound_unit

ODD_CHARACTERS = set("<>\r\n\0\x1b\u202e\u2066")


def unit(**parts) -> dict:
    """Return what a unit answers whose description has these parts."""
    return sound_unit(HOSTILE, td=says(json.dumps(described(**parts))))


@pytest.mark.parametrize("sent", HOSTILE_BYTES.values(), ids=HOSTILE_BYTES.keys())
async def test_a_hostile_description_is_said_in_a_sentence_and_others_go_on(tmp_path, sent):
    async with house(tmp_path, sound_unit(HOSTILE, td=says(sent))) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
    assert HOSTILE not in opened.fleet.records
    assert opened.trouble.startswith(f"{opened.hostile.url}: ")
    assert len(opened.trouble) < 500
    assert not set(opened.trouble) & ODD_CHARACTERS
    assert opened.hostile.asked == ["GET /td"]
    assert opened.foreign == []


def warmth(*forms, **more) -> dict:
    """Return a description's part: a property with these forms."""
    return {"properties": {"warmth": {"type": "integer", "forms": [*forms], **more}}}


def host_of(foreign: str) -> str:
    return foreign.removeprefix("http://")


LEADING_AWAY = {
    "an address of another host": lambda foreign: warmth({"href": f"{foreign}/x"}),
    "without a scheme": lambda foreign: warmth({"href": f"//{host_of(foreign)}/x"}),
    "with back slashes": lambda foreign: warmth({"href": f"\\\\{host_of(foreign)}\\x"}),
    "with one of each": lambda foreign: warmth({"href": f"http:/\\{host_of(foreign)}/x"}),
    "with a line break": lambda foreign: warmth({"href": f"ht\ntp://{host_of(foreign)}/x"}),
    "behind a user name": lambda foreign: warmth(
        {"href": f"http://127.0.0.1@{host_of(foreign)}/x"}
    ),
    "loopback by name": lambda foreign: warmth(
        {"href": foreign.replace("127.0.0.1", "localhost") + "/x"}
    ),
    "loopback in IPv6": lambda foreign: warmth(
        {"href": foreign.replace("127.0.0.1", "[::ffff:127.0.0.1]") + "/x"}
    ),
    "loopback as one number": lambda foreign: warmth(
        {"href": foreign.replace("127.0.0.1", "2130706433") + "/x"}
    ),
    "a template for the host": lambda foreign: warmth(
        {"href": "http://{+host}/x"}, uriVariables={"host": {"default": host_of(foreign)}}
    ),
    "a template for everything": lambda foreign: warmth(
        {"href": "{+all}"}, uriVariables={"all": {"default": f"{foreign}/x"}}
    ),
    "a template after a slash": lambda foreign: warmth(
        {"href": "/{+all}"}, uriVariables={"all": {"default": f"/{host_of(foreign)}/x"}}
    ),
    "a base elsewhere": lambda foreign: {"base": f"{foreign}/", **warmth({"href": "x"})},
    "a base without a scheme": lambda foreign: {
        "base": f"//{host_of(foreign)}/",
        **warmth({"href": "x"}),
    },
    "a file": lambda _: warmth({"href": "file:///etc/passwd"}),
    "a script": lambda _: warmth({"href": "javascript:x"}),
    "data in the address": lambda _: warmth({"href": "data:application/json,7"}),
    "a broker that nobody named": lambda foreign: warmth(
        {"href": f"mqtt://{host_of(foreign)}/x", "op": ["readproperty", "observeproperty"]}
    ),
    "a WebSocket elsewhere": lambda foreign: {
        "properties": {
            "frame": FRAME
            | {"forms": [{"href": f"ws://{host_of(foreign)}/x", "op": "observeproperty"}]}
        }
    },
    "a stream elsewhere": lambda foreign: {
        "properties": {
            "frame": FRAME
            | {
                "forms": [
                    {"href": f"{foreign}/frame", "op": "observeproperty", "subprotocol": "sse"}
                ]
            }
        }
    },
    "a schema elsewhere": lambda foreign: warmth(
        {"href": "x"}, **{"$ref": f"{foreign}/schema.json"}
    ),
    "a context elsewhere": lambda foreign: {
        "@context": [
            "https://www.w3.org/2022/wot/td/v1.1",
            {"pres": "https://walkdown.example/presence#"},
            f"{foreign}/context.jsonld",
        ]
    },
    "links elsewhere": lambda foreign: {"links": [{"href": f"{foreign}/x", "rel": "icon"}]},
    "a token from elsewhere": lambda foreign: {
        "securityDefinitions": {
            "none": {"scheme": "nosec"},
            "o": {"scheme": "oauth2", "token": f"{foreign}/token", "authorization": f"{foreign}/a"},
        }
    },
}


SAID_ANYWAY = ("GET /td", "GET /about", "GET /frame")
ASKED_OF_NOBODY = (
    "a file",
    "a script",
    "data in the address",
    "a broker that nobody named",
    "a stream elsewhere",
    "a context elsewhere",
    "links elsewhere",
    "a token from elsewhere",
)
"""What points nowhere that http goes to, or, the stream, to what the unit is asked for anyway."""


@pytest.mark.parametrize("made", LEADING_AWAY.values(), ids=LEADING_AWAY.keys())
async def test_nobody_comes_to_where_a_description_points(tmp_path, made):
    async with house(tmp_path, lambda foreign: unit(**made(foreign))) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
        assert HOSTILE in opened.fleet.records, opened.trouble
    asked = [one for one in opened.hostile.asked if one not in SAID_ANYWAY]
    sys.stdout.write(f"asked of the unit itself: {asked}; elsewhere: {opened.foreign}\n")
    assert opened.foreign == []
    assert all(one.endswith("x") for one in asked)
    assert bool(asked) == (made not in {LEADING_AWAY[name] for name in ASKED_OF_NOBODY})


@pytest.mark.parametrize("status", [300, 301, 302, 303, 305, 307, 308])
@pytest.mark.parametrize("path", ["td", "about"])
async def test_a_redirect_is_not_followed_and_is_said(tmp_path, path, status):
    def answers(foreign):
        return sound_unit(
            HOSTILE, **{path: says("{}", status=status, Location=f"{foreign}/{path}")}
        )

    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
    assert HOSTILE not in opened.fleet.records
    assert opened.trouble
    assert opened.foreign == []


@pytest.mark.parametrize(
    "header", ["Link", "Content-Location", "Refresh", "Alt-Svc", "X-Forwarded-Host"]
)
async def test_no_header_of_an_answer_leads_away(tmp_path, header):
    def answers(foreign):
        said = {
            "Link": f'<{foreign}/x>; rel="describedby"',
            "Refresh": f"0; url={foreign}/x",
            "Alt-Svc": f'http/1.1="{host_of(foreign)}"',
        }.get(header, f"{foreign}/x")
        return sound_unit(HOSTILE, about=says(json.dumps({"serial": HOSTILE}), **{header: said}))

    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
        assert HOSTILE in opened.fleet.records
    assert opened.foreign == []


@pytest.mark.parametrize("way", ["whole", "no scheme", "in the answer"])
async def test_the_status_of_an_action_is_asked_of_the_unit_alone(tmp_path, way):
    running = {"status": "running"}

    def answers(foreign):
        location = {"whole": f"{foreign}/s", "no scheme": f"//{host_of(foreign)}/s"}.get(way, "/s")
        said = running | ({"href": f"{foreign}/s"} if way == "in the answer" else {})
        again = {"again": {"@type": "pres:Restart", "forms": [{"href": "again"}]}}
        return unit(actions=again) | {
            "/again": says(json.dumps(said), status=201, Location=location),
            "/s": says(json.dumps(said)),
        }

    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        link = opened.fleet.link_to(HOSTILE)
        invoked = await link.invoke(link.need_action(RESTART))
        with suppress(UnitError):
            await link.status(invoked)
        with suppress(UnitError):
            await link.cancel(invoked)
    assert "POST /again" in opened.hostile.asked
    assert opened.foreign == []


MISCHIEF = "<img src=x>\u202egnp\0\x1b[31m\r\n" + "é" + "\u0301" * 40


async def test_what_a_unit_calls_itself_is_safe_to_show(tmp_path):
    answers = unit(
        title=MISCHIEF,
        properties={MISCHIEF: {"type": "integer", "unit": MISCHIEF, "forms": [{"href": "warmth"}]}},
    ) | {"/warmth": says("7")}
    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        assert HOSTILE in opened.fleet.records, opened.trouble
        reading = await opened.fleet.read_again(HOSTILE)
    shown = [reading.title, *reading.other, *reading.other.values(), *reading.complaints]
    assert any(text.startswith("7 ") for text in reading.other.values())
    assert not set("".join(shown)) & ODD_CHARACTERS


def everything_odd(value) -> dict:
    """Return a unit that answers every property with one odd value."""
    kinds = (
        "FirmwareBuild",
        "Capabilities",
        "Settings",
        "AreaSet",
        "SignalStrength",
        "Temperature",
    )
    members = {
        "FirmwareBuild": "ManifestSequence",
        "Capabilities": "MaxRange",
        "Settings": "HoldTime",
        "AreaSet": "Revision",
    }
    properties = {
        kind: {
            "@type": f"pres:{kind}",
            "properties": {"a": {"@type": f"pres:{members[kind]}"}} if kind in members else {},
            "forms": [{"href": kind}],
        }
        for kind in kinds
    }
    raw = json.dumps(
        {"a": value, "areas": value} if isinstance(value, int | float | str) else value
    )
    plain = {f"/{kind}": says(raw if kind in members else json.dumps(value)) for kind in kinds}
    return unit(properties=properties) | plain


ODD_VALUES = {
    "an integer of 20 digits": 10**19,
    "the most negative one": -(2**63),
    "nearly infinite": 1.7e308,
    "nearly nothing": 5e-324,
    "true": True,
    "null": None,
    "a long text": "x" * 200_000,
    "markup": MISCHIEF,
    "an empty list": [],
    "a list of lists": [[[[]]]],
    "areas that are numbers": {"areas": [1, 2, 3]},
    "areas of every kind": {
        "areas": [{"id": 1, "kind": {}, "min": 1, "max": []}, {"kind": []}, {}]
    },
    "an area as large as a country": {
        "areas": [
            {"id": "1", "kind": "watch", "min": {"x": -1e300, "y": 0}, "max": {"x": 1e300, "y": 1}}
        ]
    },
    "10,000 areas": {
        "areas": [
            {"id": str(n), "kind": "watch", "min": {"x": 0, "y": 0}, "max": {"x": 9, "y": 9}}
            for n in range(10_000)
        ]
    },
}


@pytest.mark.parametrize("value", ODD_VALUES.values(), ids=ODD_VALUES.keys())
async def test_an_odd_value_is_kept_or_left_out_and_never_ends_the_visit(tmp_path, value):
    async with house(tmp_path, everything_odd(value)) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
        assert HOSTILE in opened.fleet.records, opened.trouble
        reading = await opened.fleet.read_again(HOSTILE)
    texts = [
        *reading.other.values(),
        *(text for text in reading.sheet.values() if isinstance(text, str)),
    ]
    assert all(len(text) <= MAX_SAID_CHARS for text in texts)
    assert not set("".join(texts)) & ODD_CHARACTERS
    assert len(reading.sheet) <= 3 * 256 + 10


ODD_ANSWERS = {
    "no JSON": says("<html>"),
    "not a number": says('{"serial": NaN}'),
    "a name twice": says('{"serial": "a", "serial": "b"}'),
    "no serial": says("{}"),
    "an empty serial": says('{"serial": "\\u202e\\u0000"}'),
    "bad UTF-8": says(b'{"serial": "\xff"}'),
    "half a character": says('{"serial": "\\ud83d"}'),
    "50,000 levels": says("[" * 50_000 + "]" * 50_000),
    "too much": says(b'{"serial": "' + b"x" * 3_000_000 + b'"}'),
    "nothing": says(""),
    "404": says("", status=404),
    "500": says("x" * 100_000, status=500),
    "a problem of its own": says(
        json.dumps({"title": MISCHIEF, "detail": MISCHIEF * 50}),
        status=409,
        **{"Content-Type": "application/problem+json"},
    ),
}


@pytest.mark.parametrize("answer", ODD_ANSWERS.values(), ids=ODD_ANSWERS.keys())
async def test_a_unit_that_does_not_say_who_it_is_is_told_and_not_kept(tmp_path, answer):
    async with house(tmp_path, sound_unit(HOSTILE, about=answer)) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
        assert list(opened.fleet.serials) == ["SOUND-1"]
    assert len(opened.trouble) < 1000
    assert not set(opened.trouble) & ODD_CHARACTERS
    assert opened.foreign == []


async def test_a_unit_that_says_the_serial_of_another_is_not_taken_for_it(tmp_path):
    answers = sound_unit(HOSTILE, about=says('{"serial": "SOUND-1"}'))
    async with house(tmp_path, answers) as opened:
        opened.hear(opened.hostile, "Hostile unit")
        await opened.wait_for(lambda: opened.trouble)
        await opened.sound_goes_on()
        assert opened.fleet.link_to("SOUND-1").thing.url != opened.hostile.url
    assert "two units say the serial SOUND-1" in opened.trouble


async def test_an_event_stream_for_a_plain_answer_is_given_up(tmp_path):
    async def drip(request):
        answer = web.StreamResponse(headers={"Content-Type": "application/json"})
        await answer.prepare(request)
        for _ in range(1_000_000):
            await answer.write(b" " * 65536)
        return answer

    async with house(tmp_path, sound_unit(HOSTILE, about=drip)) as opened:
        await opened.meet_hostile()
        await opened.sound_goes_on()
    assert HOSTILE not in opened.fleet.records


def test_the_number_of_faults_tried_at_the_socket_is_told():
    headers_redirects_and_single_ones = 5 + 14 + 6
    tables = (HOSTILE_BYTES, LEADING_AWAY, ODD_VALUES, ODD_ANSWERS)
    tried = sum(map(len, tables)) + headers_redirects_and_single_ones
    sys.stdout.write(f"{tried} hostile units met over sockets\n")
    assert tried >= 80
