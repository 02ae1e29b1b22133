"""The parts of a unit profile: how a unit is recognised, and where a placeholder's value comes from."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fleet.description.documents import Json, as_texts
from fleet.description.limits import MAX_HREF_CHARS, MAX_TOPIC_BYTES
from fleet.description.located import Path
from fleet.description.pointers import read_pointer
from fleet.description.texts import plain_text

# RFC 6763 §7, RFC 6335 §5.1: letters, digits and single hyphens within, 15 at most, not digits alone.
_SERVICE_TYPE = re.compile(
    r"_(?=[a-z0-9-]{1,15}\.)(?=[0-9-]*[a-z])[a-z0-9]+(?:-[a-z0-9]+)*\._(?:tcp|udp)"
)
_HTTP_PATH = re.compile(r"/[A-Za-z0-9._~!$&'()*+,;=:@%/?-]*", re.ASCII)
_DOTS = re.compile(r"(?:^|/)(?:\.|%2e){1,2}(?:[/?]|$)", re.IGNORECASE)
_ODD_IN_TOPIC = re.compile("[\x00-\x1f\x7f-\x9f]")
_MOST_LEVELS = 32


class Origin(StrEnum):
    """Where the value of a placeholder comes from."""

    TXT = "txt"
    ADDRESS = "address"
    ADVERT = "advert"
    HTTP = "http"
    MQTT = "mqtt"
    CONST = "const"


class ValueType(StrEnum):
    """What a placeholder's value is."""

    TEXT = "text"
    INTEGER = "integer"
    BOOLEAN = "boolean"


@dataclass(frozen=True, slots=True)
class Source:
    """Where the value of one placeholder comes from.

    Attributes:
        origin: TXT record, address, name of the advert, an answer over HTTP, an announcement at a
            broker, or the profile itself.
        value_type: what it is.
        key: of the TXT record in lower case; "host" or "port" of the address.
        path: what is asked over HTTP.
        pointer: where in the answer or announcement it stands; None for a level of the topic.
        level: which level of the announcement's topic it is, counted from 1; 0 for none.
        value: the profile's own.
    """

    origin: Origin
    value_type: ValueType = ValueType.TEXT
    key: str = ""
    path: str = ""
    pointer: tuple[str, ...] | None = None
    level: int = 0
    value: str | int | bool = ""


@dataclass(frozen=True, slots=True)
class Match:
    """How a unit of a profile is recognised; all empty for one that a person names by address.

    Attributes:
        service_type: what it advertises, for example "_wd-poll._tcp".
        txt: keys of its TXT record in lower case, and which values each may have.
        announcement: filter of the topics under which such units announce themselves at a broker.
    """

    service_type: str = ""
    txt: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    announcement: str = ""


class PartError(ValueError):
    """A part of a profile is wrong.

    Attributes:
        path: which member, within the part.
    """

    def __init__(self, what: str, *path: str | int) -> None:
        """Say what is wrong with which member."""
        super().__init__(what)
        self.path: Path = path


def read_match(raw: dict[str, Json]) -> Match:
    """Read a profile's `match`.

    Raises:
        PartError: it is wrong.
    """
    if "mqtt" in raw:
        hold_members(raw, needed={"mqtt"})
        return Match(announcement=_announcement(text_of(raw, "mqtt")))
    hold_members(raw, needed={"service_type"}, optional={"txt"})
    service_type = text_of(raw, "service_type")
    if not _SERVICE_TYPE.fullmatch(service_type):
        raise PartError(
            f"{plain_text(service_type, 40)!r} is no service type as RFC 6335 wants it, "
            "for example _wd-poll._tcp.",
            "service_type",
        )
    txt = raw.get("txt", {})
    if not isinstance(txt, dict):
        raise PartError("txt is an object of keys and values.", "txt")
    return Match(service_type, {key.lower(): _txt_values(key, said) for key, said in txt.items()})


def read_source(raw: dict[str, Json]) -> Source:
    """Read where one placeholder comes from.

    Raises:
        PartError: it is wrong.
    """
    word = raw.get("from")
    if not isinstance(word, str) or word not in _READERS:
        raise PartError(f"from is one of {', '.join(_READERS)}.", "from" if "from" in raw else "")
    return _READERS[word](raw)


def hold_members(
    raw: Mapping[str, Json], *, needed: set[str], optional: set[str] | None = None
) -> None:
    """Refuse an object with a member too many or too few.

    Raises:
        PartError: that is so.
    """
    for name in raw:
        if name not in needed | (optional or set()):
            raise PartError(f"{plain_text(name, 40)!r} has no place here.", name)
    for name in sorted(needed - raw.keys()):
        raise PartError(f"{name} is missing here.")


def text_of(raw: Mapping[str, Json], name: str) -> str:
    """Return a member that is a text.

    Raises:
        PartError: it is empty, or none.
    """
    value = raw[name]
    if not isinstance(value, str) or not value:
        raise PartError(f"{name} is a text, and not empty.", name)
    return value


def _txt(raw: dict[str, Json]) -> Source:
    hold_members(raw, needed={"from", "key"}, optional={"type"})
    return Source(Origin.TXT, _value_type(raw), key=text_of(raw, "key").lower())


def _address(raw: dict[str, Json]) -> Source:
    hold_members(raw, needed={"from", "part"}, optional={"type"})
    part = text_of(raw, "part")
    if part not in {"host", "port"}:
        raise PartError("part is host or port.", "part")
    return Source(Origin.ADDRESS, _value_type(raw), key=part)


def _advert(raw: dict[str, Json]) -> Source:
    hold_members(raw, needed={"from"}, optional={"type"})
    return Source(Origin.ADVERT, _value_type(raw))


def _http(raw: dict[str, Json]) -> Source:
    hold_members(raw, needed={"from", "path", "pointer"}, optional={"type"})
    path = text_of(raw, "path")
    sound = _HTTP_PATH.fullmatch(path) and not path.startswith("//") and not _DOTS.search(path)
    if not sound or len(path) > MAX_HREF_CHARS:
        raise PartError("path begins with one slash and stays below it.", "path")
    return Source(Origin.HTTP, _value_type(raw), path=path, pointer=_pointer(raw))


def _mqtt(raw: dict[str, Json]) -> Source:
    if "pointer" in raw:
        hold_members(raw, needed={"from", "pointer"}, optional={"type"})
        return Source(Origin.MQTT, _value_type(raw), pointer=_pointer(raw))
    hold_members(raw, needed={"from", "level"}, optional={"type"})
    level = raw["level"]
    if not isinstance(level, int) or isinstance(level, bool) or not 1 <= level <= _MOST_LEVELS:
        raise PartError(f"level counts from 1 to {_MOST_LEVELS}.", "level")
    return Source(Origin.MQTT, _value_type(raw), level=level)


def _const(raw: dict[str, Json]) -> Source:
    hold_members(raw, needed={"from", "value"}, optional={"type"})
    value, value_type = raw["value"], _value_type(raw)
    kinds = {ValueType.TEXT: str, ValueType.INTEGER: int, ValueType.BOOLEAN: bool}
    if value.__class__ is not kinds[value_type] or not isinstance(value, str | int):
        raise PartError(f"value isn't of the type {value_type.value}.", "value")
    return Source(Origin.CONST, value_type, value=value)


_READERS: Mapping[str, Callable[[dict[str, Json]], Source]] = {
    Origin.TXT.value: _txt,
    Origin.ADDRESS.value: _address,
    Origin.ADVERT.value: _advert,
    Origin.HTTP.value: _http,
    Origin.MQTT.value: _mqtt,
    Origin.CONST.value: _const,
}


def _value_type(raw: dict[str, Json]) -> ValueType:
    word = raw.get("type", ValueType.TEXT.value)
    if not isinstance(word, str) or word not in list(ValueType):
        raise PartError(f"type is one of {', '.join(ValueType)}.", "type")
    return ValueType(word)


def _pointer(raw: dict[str, Json]) -> tuple[str, ...]:
    value = raw["pointer"]
    if not isinstance(value, str):
        raise PartError("pointer is a text.", "pointer")
    try:
        return read_pointer(value)
    except ValueError as broken:
        raise PartError(f"{broken}.", "pointer") from broken


def _txt_values(key: str, said: Json) -> tuple[str, ...]:
    values = as_texts(said)
    many = len(said) if isinstance(said, list) else 1
    if not values or len(values) != many:
        raise PartError("a TXT key stands for a text, or for a list of texts.", "txt", key)
    return tuple(values)


def _announcement(filter_: str) -> str:
    """Hold a filter to what announces single units (MQTT 3.1.1 and 5.0, §4.7)."""
    levels = filter_.split("/")
    if _ODD_IN_TOPIC.search(filter_) or len(filter_.encode()) > MAX_TOPIC_BYTES:
        raise PartError("mqtt is a filter of topics, without control characters.", "mqtt")
    if "#" in filter_ or any("+" in level and level != "+" for level in levels):
        raise PartError("mqtt has + for a whole level, and no #.", "mqtt")
    if filter_.startswith("$") or len(levels) > _MOST_LEVELS or "+" not in levels:
        raise PartError(
            f"mqtt has at least one +, at most {_MOST_LEVELS} levels, and no $ first.", "mqtt"
        )
    return filter_
