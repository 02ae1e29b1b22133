"""A small profile for tests, invented, and changed copies of it."""

import json

from fleet.description.profiles import Profile, read_profile

SOUND = """{
 "format": "walkdown.profile.1",
 "name": "small-example",
 "note": "Invented for tests.",
 "match": {"service_type": "_wd-small._tcp", "txt": {"Speaks": ["1", "2"]}},
 "placeholders": {
  "HOST": {"from": "address", "part": "host"},
  "PORT": {"from": "address", "part": "port", "type": "integer"},
  "SERIAL": {"from": "txt", "key": "Plate"},
  "REACH": {"from": "http", "path": "/can", "pointer": "/reach/mm", "type": "integer"}
 },
 "thing_model": {
  "@context": ["https://www.w3.org/2022/wot/td/v1.1",
   {"pres": "https://walkdown.example/presence#", "qunit": "http://qudt.org/vocab/unit/"}],
  "@type": ["tm:ThingModel", "pres:PresenceUnit"],
  "title": "Unit {{SERIAL}}",
  "base": "http://{{HOST}}:{{PORT}}/",
  "securityDefinitions": {"open": {"scheme": "nosec"}},
  "security": "open",
  "properties": {
   "plate": {
    "@type": "pres:Identity", "readOnly": true, "type": "object",
    "properties": {"plate": {"@type": "pres:SerialNumber", "type": "string"}},
    "forms": [{"href": "units/{{SERIAL}}/plate"}]
   },
   "wishes": {
    "@type": "pres:Settings", "type": "object",
    "properties": {
     "reach": {
      "@type": "pres:MaxDistance", "type": "integer", "unit": "qunit:MilliM",
      "maximum": "{{REACH}}"
     }
    },
    "forms": [
     {"href": "wishes?of={{SERIAL}}"},
     {"href": "wishes{?page}", "op": "readproperty"}
    ]
   }
  }
 }
}
"""


def changed(*changes: tuple[str, str]) -> bytes:
    """Return the sound profile with pieces of its text replaced."""
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    return text.encode()


def profile(*changes: tuple[str, str]) -> Profile:
    return read_profile(changed(*changes), "p.json")


def line_of(text: str) -> int:
    """Return the line of the sound profile that a piece of text stands in."""
    assert SOUND.count(text) == 1, text
    return SOUND[: SOUND.index(text)].count("\n") + 1


def broker_profile() -> Profile:
    """Return the sound profile as one of units behind a broker."""
    raw = json.loads(SOUND)
    raw["match"] = {"mqtt": "wd/+/here"}
    raw["placeholders"] |= {
        "SERIAL": {"from": "mqtt", "level": 2},
        "REACH": {"from": "mqtt", "pointer": "/reach", "type": "integer"},
    }
    model = raw["thing_model"]
    model["base"] = "mqtt://{{HOST}}:{{PORT}}/"
    for name in ("plate", "wishes"):
        topic = f"wd/{{{{SERIAL}}}}/{name}"
        model["properties"][name]["forms"] = [
            {"href": "/", "mqv:filter": topic, "mqv:topic": topic}
        ]
    return read_profile(json.dumps(raw).encode(), "b.json")
