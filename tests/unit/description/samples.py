"""Descriptions for tests: the examples, and small ones made of parts."""

import json
from pathlib import Path

from fleet.description.things import Thing, read_thing

ROOT = Path(__file__).parents[3]
EXAMPLES = ROOT / "tests" / "data" / "descriptions"
URL = "http://192.0.2.7:8080/td"


def example(name: str) -> bytes:
    return (EXAMPLES / f"{name}.td.json").read_bytes()


def td_schema() -> dict:
    path = ROOT / "resources" / "schemas" / "td-1.1.schema.json"
    return json.loads(path.read_text(encoding="utf-8"))


def document(**parts: object) -> dict:
    return {
        "@context": [
            "https://www.w3.org/2022/wot/td/v1.1",
            {
                "pres": "https://walkdown.example/presence#",
                "qunit": "http://qudt.org/vocab/unit/",
            },
        ],
        "@type": "pres:PresenceUnit",
        "title": "Test unit",
        "securityDefinitions": {"none": {"scheme": "nosec"}},
        "security": ["none"],
        **parts,
    }


def thing(url: str = URL, **parts: object) -> Thing:
    return read_thing(json.dumps(document(**parts)).encode(), url)


def with_property(property_: dict, url: str = URL, **parts: object) -> Thing:
    return thing(url, properties={"p": property_}, **parts)
