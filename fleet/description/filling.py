"""A profile's Thing Model filled with what a unit says, as a Thing Description.

The values come from a stranger, and what they may do depends on where they stand:

1. In an address they are a piece of path or query: percent-encoded (RFC 3986 §2.1), never empty, and
   never such that a path gets a `.` or `..` in it or a slash more. A host is a name or a number, and a
   port a number.
2. In a topic they are a piece of one level: no slash, no wildcard, no control character.
3. Anywhere else they are JSON values or text within a JSON string.
4. They are filled in once: a placeholder in a value stays the text that it is.

So whatever a unit says, every request and every message goes where the profile's author meant.
"""

import json
import re
from collections.abc import Mapping
from urllib.parse import quote, unquote

from fleet.description.documents import Json, as_texts
from fleet.description.expansion import Prefixes, read_prefixes
from fleet.description.limits import MAX_INTEGER_DIGITS, MAX_PLACEHOLDER_CHARS
from fleet.description.profile_parts import Source, ValueType
from fleet.description.profiles import Profile
from fleet.description.templates import ADDRESS_KEYS, PLACEHOLDER, authority, whole_placeholder
from fleet.description.topics import TOPIC_TERMS
from fleet.model.errors import PlanError, UnitError

_THING_MODEL = "tm:ThingModel"
_DROPPED = frozenset({"tm:optional", "tm:required"})
_UNTOUCHED = frozenset({"@context", "@type"})
_WHOLE_NUMBER = re.compile(rf"[+-]?[0-9]{{1,{MAX_INTEGER_DIGITS}}}", re.ASCII)
_FLAGS = {"1": True, "true": True, "yes": True, "on": True} | dict.fromkeys(
    ("0", "false", "no", "off"), False
)
_HOST = re.compile(
    r"[A-Za-z0-9_](?:[A-Za-z0-9._-]{0,251}[A-Za-z0-9_.])?|[0-9A-Fa-f:.]+(?:%25[\w.-]+)?", re.ASCII
)
_PORTS = range(1, 65536)
# C0 and C1 controls, line ends of Unicode, half characters.
_ODD = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
_PATH = re.compile(r"[^?#]*")


def fill(profile: Profile, values: Mapping[str, Json]) -> bytes:
    """Return the Thing Description of one unit.

    Args:
        profile: its profile.
        values: of every placeholder, as they came.

    Raises:
        PlanError: a value is missing, or is of no placeholder.
        UnitError: a value is none that may stand where it is to stand.
    """
    _hold_names(profile, values)
    typed = {
        name: _typed(name, values[name], source) for name, source in profile.placeholders.items()
    }
    model = {key: held for key, held in profile.thing_model.items() if key not in _DROPPED}
    prefixes = read_prefixes(model.get("@context"))
    document = {key: _Filling(typed, prefixes).of(key, held) for key, held in model.items()}
    document["@type"] = [word for word in as_texts(model.get("@type")) if word != _THING_MODEL]
    _make_version(document)
    return json.dumps(document, ensure_ascii=False, allow_nan=False).encode()


class _Filling:
    """Puts typed values into the texts of one Thing Model."""

    def __init__(self, values: Mapping[str, str | int | bool], prefixes: Prefixes) -> None:
        self._values = values
        self._prefixes = prefixes

    def of(self, key: str, held: Json) -> Json:
        """Return a member with its placeholders filled; `key` is the name that it stands under."""
        if key in _UNTOUCHED:
            return held
        if isinstance(held, dict):
            return {name: self.of(name, inner) for name, inner in held.items()}
        if isinstance(held, list):
            return [self.of(key, entry) for entry in held]
        return self._text(key, held) if isinstance(held, str) and "{{" in held else held

    def _text(self, key: str, template: str) -> Json:
        if key in ADDRESS_KEYS:
            return self._address(template)
        if self._prefixes.expand(key) in TOPIC_TERMS:
            return PLACEHOLDER.sub(lambda found: self._level(found[1]), template)
        whole = whole_placeholder(template)
        if whole and key != "id":
            return self._values[whole]
        if key == "id":
            return PLACEHOLDER.sub(lambda found: quote(self._said(found[1]), safe=""), template)
        return PLACEHOLDER.sub(lambda found: self._said(found[1]), template)

    def _address(self, template: str) -> str:
        start, end = authority(template)

        def piece(found: re.Match[str]) -> str:
            within = start <= found.start() < end
            return self._host_or_port(found[1]) if within else self._segment(found[1])

        address = PLACEHOLDER.sub(piece, template)
        _, begin = authority(address)
        path = _PATH.match(address, begin)
        if path and any(unquote(step) in {".", ".."} for step in path[0].split("/")):
            raise _refusal("a value would lead out of the path that it belongs to")
        return address

    def _host_or_port(self, name: str) -> str:
        said = self._values[name]
        if isinstance(said, int) and said in _PORTS:
            return str(said)
        if not isinstance(said, str) or not _HOST.fullmatch(said):
            raise _refusal(f"{name} is no host and no port")
        return f"[{said}]" if ":" in said else said

    def _segment(self, name: str) -> str:
        said = self._said(name)
        if not said or "/" in said or "\\" in said:
            raise _refusal(f"{name} is to be a piece of a path, and is empty or has a slash")
        return quote(said, safe="")

    def _level(self, name: str) -> str:
        said = self._said(name)
        if not said or not {"/", "+", "#"}.isdisjoint(said) or said.startswith("$"):
            raise _refusal(f"{name} is to be a piece of a topic, and is empty or has / + # or $")
        return said

    def _said(self, name: str) -> str:
        said = self._values[name]
        return json.dumps(said) if isinstance(said, bool) else str(said)


def _hold_names(profile: Profile, values: Mapping[str, Json]) -> None:
    wanted = profile.placeholders.keys()
    for name in sorted(wanted ^ values.keys()):
        known = "has no value" if name in wanted else "is no placeholder of it"
        raise PlanError(f"{name} {known}.", subject=f"profile {profile.name}")


def _typed(name: str, said: Json, source: Source) -> str | int | bool:
    """Return a value as its type has it.

    Raises:
        UnitError: it isn't of that type, or holds what no value may.
    """
    readers = {ValueType.INTEGER: _integer, ValueType.BOOLEAN: _flag, ValueType.TEXT: _text}
    value = readers[source.value_type](said)
    if value is None:
        raise _refusal(f"what it says for {name} is no {source.value_type.value} that can be used")
    return value


def _integer(said: Json) -> int | None:
    if isinstance(said, str):
        return int(said) if _WHOLE_NUMBER.fullmatch(said) else None
    if isinstance(said, bool) or not isinstance(said, int | float):
        return None
    return int(said) if abs(said) < 10**MAX_INTEGER_DIGITS and said == int(said) else None


def _flag(said: Json) -> bool | None:
    if isinstance(said, bool):
        return said
    return _FLAGS.get(str(said).lower()) if isinstance(said, int | str) else None


def _text(said: Json) -> str | None:
    if isinstance(said, bool) or not isinstance(said, int | float | str):
        return None
    text = str(said)
    return None if _ODD.search(text) or len(text) > MAX_PLACEHOLDER_CHARS else text


def _make_version(document: dict[str, Json]) -> None:
    """Leave out the model's own version: a description's names an instance's (TD 1.1 §5.3.1.5)."""
    version = document.get("version")
    if isinstance(version, dict) and "instance" not in version:
        del document["version"]


def _refusal(what: str) -> UnitError:
    return UnitError(
        f"{what}.",
        stands="Nothing was asked of it.",
        next_step="Check that the unit is of this profile's kind; if it is, mend the profile.",
    )
