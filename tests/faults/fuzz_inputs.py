"""Seeded bytes that go wrong in every way: real descriptions, streams, reports and values, changed.

Each function takes a `random.Random`, so that a number names an input for ever: what failed once can be
made again. A changed real input gets further into a reader than noise does; some noise is in it too.
"""

import json
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.unit.description.samples import document, example

TOKENS = (
    b"NaN", b"-Infinity", b"1e999", b"-0", b"1" * 30, b"0.1e-400", b"null", b"true", b'""', b"[]", b"{}",
    b'"\\ud800"', b"\\u0000", b"\\u202e", b"\xff\xfe", b"\xef\xbb\xbf", b"\0", b"{{X}}", b'{"a":1,"a":2}',
    b'"//evil.example/x"', b'"http://127.0.0.1:1/"', b'"file:///etc/passwd"', b'"{+a*}"', b'"$ref"',
    b"[" * 70, b"]" * 70, b",", b":", b"\n\n", b"\r", b"data:", b"id:\0", b"retry: 99999999999",
)  # fmt: skip
WORDS = (
    "", "x", "\0", "\u202e", "\ud83d", "<b>", "a" * 3000, "..", "../../x", "//evil.example/x",
    "\\\\evil\\x", "http://evil.example/", "http://[::1]:1/x", "http://[", "http://user@evil.example:80x/", "file:///x",
    "javascript:x", "ws://evil.example/x", "wss://192.0.2.7:8080/x", "mqtt://evil.example/t", "mqtts://b/x",
    "x{?a,b}", "{+a}", "{/a*}", "{a:99999}", "{", "}", "{?a", "{!a}", "{a,,b}", "%", "%zz", "?#", "#x",
    "pres:Settings", "pres:HoldTime", "pres:SensorX", "pres:TargetFrame", "pres:PresenceUnit", "oneOf",
    "integer", "number", "object", "array", "string", "boolean", "qunit:CentiM", "qunit:DEG_F", "furlong",
    "readproperty", "writeproperty", "observeproperty", "invokeaction", "sse", "longpoll", "basic", "combo",
    "apikey", "(a+)+$", "[", "^x{1,9999}$", "if-match", "GET", "PUT", "CONNECT", "text/plain; x=y",
    "a/b\r\nc", "2026-11-25T12:00:00Z", "9999-12-31T23:59:60Z", "0000-00-00T00:00:00Z",
)  # fmt: skip
NAMES = (
    "@context", "@type", "id", "title", "base", "forms", "href", "op", "type", "properties", "items",
    "oneOf", "anyOf", "allOf", "required", "enum", "const", "default", "minimum", "maximum", "multipleOf",
    "pattern", "minItems", "maxItems", "unit", "readOnly", "writeOnly", "observable", "uriVariables", "contentType",
    "response", "subprotocol", "htv:methodName", "pres:concurrency", "security", "securityDefinitions",
    "scheme", "in", "name", "input", "output", "data", "actions", "events", "$ref", "format",
    "pres:parts", "property", "at", "when", "atLeast", "pres:factor", "pres:words", "pres:absent",
    "pres:pollEvery", "mqv:topic", "mqv:filter", "mqv:qos", "mqv:retain", "mqv:controlPacket",
)  # fmt: skip
NUMBERS = (
    0, 1, -1, 2**31, 2**53, 2**64 - 1, -(2**63), 10**19, 0.5, -0.0, 1e-300, 1e300, 1.7e308, 3.0, True,
    False, None,
)  # fmt: skip

_FORMS = [
    {"href": "p{?a,b}", "op": ["readproperty", "writeproperty"], "pres:concurrency": "if-match"},
    {"href": "//192.0.2.9/p", "contentType": "application/cbor", "htv:methodName": "PUT"},
    {"href": "/p/watch", "op": "observeproperty", "subprotocol": "sse"},
    {"href": "ws://192.0.2.7:8080/p", "op": "observeproperty"},
    {"href": "mqtt://192.0.2.8:1883", "op": "observeproperty", "mqv:filter": "a/+/b"},
]
SMALL: tuple[dict[str, Any], ...] = (
    document(
        base="http://192.0.2.7:8080/unit/",
        properties={
            "p": {
                "@type": "pres:Settings",
                "type": "object",
                "properties": {
                    "far": {"@type": "pres:MaxDistance", "type": "number", "unit": "qunit:M"},
                    "word": {"enum": ["a", "b"], "pres:words": {"a": 1, "b": 2}},
                },
                "uriVariables": {"a": {"type": "string", "default": "x"}, "b": {"type": "integer"}},
                "forms": _FORMS,
                "observable": True,
            }
        },
        security=["c"],
        securityDefinitions={
            "c": {"scheme": "combo", "oneOf": ["n", "b", "k"]},
            "n": {"scheme": "nosec"},
            "b": {"scheme": "basic", "in": "header"},
            "k": {"scheme": "apikey", "in": "query", "name": "key"},
        },
    ),
    document(
        properties={
            "f": {
                "@type": "pres:TargetFrame",
                "properties": {
                    "time": {"@type": "pres:SampleTime", "type": "string"},
                    "n": {"@type": "pres:ReportNumber", "type": "integer"},
                    "list": {
                        "type": "array",
                        "maxItems": 3,
                        "items": {
                            "oneOf": [
                                {
                                    "properties": {
                                        "x": {"@type": "pres:SensorX", "unit": "qunit:CentiM"},
                                        "y": {"@type": "pres:SensorY", "type": "integer"},
                                    }
                                },
                                {"properties": {"r": {"@type": "pres:TargetRange"}}},
                            ]
                        },
                    },
                },
                "pres:parts": [
                    {"property": "x1", "at": "/list/0/x", "when": {"property": "n", "atLeast": 1}},
                    {"property": "y1", "at": "/list/0/y"},
                ],
            },
            "x1": {"type": "integer", "pres:factor": 10, "forms": [{"href": "x1"}]},
            "y1": {"type": "integer", "forms": [{"href": "y1", "pres:pollEvery": 500}]},
        },
        actions={"a": {"input": {"type": "integer"}, "forms": [{"href": "a"}]}},
        events={"e": {"data": {"type": "string"}, "forms": [{"href": "e", "subprotocol": "x"}]}},
    ),
)
PROFILES = Path(__file__).parents[2] / "resources" / "profiles"
_PLACEHOLDER = re.compile(r"\{\{\w+\}\}")


def _models() -> Iterator[dict[str, Any]]:
    """Yield the Thing Models of the shipped profiles, each placeholder a number."""
    for path in sorted(PROFILES.glob("*.json")):
        model = json.loads(path.read_text(encoding="utf-8"))["thing_model"]
        filled = json.loads(_PLACEHOLDER.sub("8080", json.dumps(model)))
        yield filled | {"@type": "pres:PresenceUnit"}


LARGE: tuple[dict[str, Any], ...] = (
    *(json.loads(example(name)) for name in ("tracking", "static", "vital")),
    *_models(),
)
REPORT: dict[str, Any] = {
    "time": "2026-11-25T12:00:00.000Z",
    "number": 7,
    "any": True,
    "targets": [{"id": 0, "x": -1200, "y": 2400, "speed": -30}, {"id": 1, "x": 5, "y": 6}],
    "areas": [{"id": "a1", "occupied": True, "count": 1}],
}
STREAM_PIECES = (
    b"data: ", json.dumps(REPORT).encode(), b"\n", b"\n\n", b"\r\n", b"\r", b"id: 7", b"id", b"id: \0",
    b"event: x", b"retry: 500", b"retry: 1e9", b": alive", b"\xef\xbb\xbf", b"\xff", b"\0", b"data",
    b"x" * 900,
)  # fmt: skip


def description(chance: random.Random) -> bytes:
    """Return a description that was sound before it was changed; one in thirty is a rich one."""
    return (
        rich_description(chance)
        if chance.random() < 0.03
        else _spoilt(chance.choice(SMALL), chance)
    )


def rich_description(chance: random.Random) -> bytes:
    """Return the description of a whole unit, changed."""
    return _spoilt(chance.choice(LARGE), chance)


def report(chance: random.Random) -> bytes:
    """Return a report, changed; one in 200 holds far more than a unit has to say."""
    if chance.random() < 0.005:
        many = {**REPORT, "targets": REPORT["targets"] * chance.choice((40, 400, 5000))}
        return json.dumps(many).encode()
    return _spoilt(REPORT, chance)


def stream(chance: random.Random) -> bytes:
    """Return the bytes of a stream, sound and unsound pieces in any order."""
    pieces = chance.choices(STREAM_PIECES, k=chance.randint(1, 24))
    if chance.random() < 0.3:
        pieces.append(_garbled(b"".join(pieces), chance))
    return b"".join(pieces)


def cuts(whole: bytes, chance: random.Random) -> Iterator[bytes]:
    """Cut bytes at random places, as a network would."""
    begin = 0
    while begin < len(whole):
        end = begin + chance.choice((1, 2, 3, 17, 1460, 65536))
        yield whole[begin:end]
        begin = end


def value(chance: random.Random) -> Any:
    """Return a JSON value, nested at random."""
    return _anything(chance, chance.randint(0, 3))


def _spoilt(seed: dict[str, Any], chance: random.Random) -> bytes:
    """Change members first, then bytes: either, or both."""
    changed: Any = seed
    for _ in range(chance.choice((0, 1, 1, 1, 2, 4))):
        changed = _with_change(changed, chance)
    raw = json.dumps(changed).encode()
    return _garbled(raw, chance) if chance.random() < 0.3 else raw


def _with_change(whole: Any, chance: random.Random) -> Any:
    """Change one place somewhere inside, copying only what lies on the way there."""
    keys = (
        list(whole)
        if isinstance(whole, dict)
        else range(len(whole))
        if isinstance(whole, list)
        else []
    )
    if not keys or chance.random() < 0.12:
        return _changed_here(whole, chance)
    key = chance.choice(keys)
    copied = whole.copy()
    copied[key] = _with_change(whole[key], chance)
    return copied


def _changed_here(place: Any, chance: random.Random) -> Any:
    if isinstance(place, dict) and chance.random() < 0.6:
        return {**place, chance.choice(NAMES): value(chance)}
    if isinstance(place, list) and chance.random() < 0.5:
        return [*place, *(place[:1] * chance.choice((1, 70, 600)) or [value(chance)])]
    return [place] if chance.random() < 0.1 else value(chance)


def _anything(chance: random.Random, depth: int) -> Any:
    kind = chance.random()
    if depth and kind < 0.3:
        return {
            chance.choice(NAMES): _anything(chance, depth - 1) for _ in range(chance.randint(0, 4))
        }
    if depth and kind < 0.5:
        return [_anything(chance, depth - 1) for _ in range(chance.randint(0, 4))]
    return chance.choice(WORDS) if kind < 0.8 else chance.choice(NUMBERS)


def _garbled(raw: bytes, chance: random.Random) -> bytes:
    for _ in range(chance.randint(1, 4)):
        raw = chance.choice(_GARBLINGS)(raw, chance)
    return raw


def _put_in(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + chance.choice(TOKENS) + raw[at + chance.choice((0, 0, 1, 8)) :]


def _flip(raw: bytes, chance: random.Random) -> bytes:
    if not raw:
        return b"\x80"
    at = chance.randrange(len(raw))
    return raw[:at] + bytes([raw[at] ^ 1 << chance.randrange(8)]) + raw[at + 1 :]


def _cut_out(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + raw[at + chance.randint(1, 60) :]


def _twice(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + raw[at : at + chance.randint(1, 200)] * 2 + raw[at:]


def _end_early(raw: bytes, chance: random.Random) -> bytes:
    return raw[: chance.randint(0, len(raw))]


_GARBLINGS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _put_in, _put_in, _flip, _flip, _cut_out, _twice, _end_early,
)  # fmt: skip
