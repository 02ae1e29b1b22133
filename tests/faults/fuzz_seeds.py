"""Sound descriptions and a sound report, to be changed: small ones of many features, and whole units."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.unit.description.samples import document, example

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
