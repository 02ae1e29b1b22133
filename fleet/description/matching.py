"""Which profile a unit is of, and the values of its placeholders gathered from all that it said.

1. Every TXT key that a profile names must be there with one of the values named. Keys are compared
   without regard to case (RFC 6763 §6.4), values exactly.
2. An announcement at a broker is matched level by level; `+` stands for one whole level (MQTT 3.1.1
   and 5.0, §4.7.1).
3. A profile without a match fits nothing by itself: a person names the address and the profile.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from fleet.description.documents import Json, parse_json
from fleet.description.pointers import value_at, written
from fleet.description.profile_parts import Origin, Source
from fleet.description.profiles import Profile
from fleet.model.errors import UnitError
from fleet.model.units import Sighting

_DEFAULT_PORTS = {"http": 80, "https": 443, "mqtt": 1883, "mqtts": 8883}


@dataclass(frozen=True, slots=True)
class Announcement:
    """What a unit announces of itself at a broker.

    Attributes:
        topic: under which it was heard.
        payload: as it came.
    """

    topic: str
    payload: bytes = b""


def matches(profile: Profile, sighting: Sighting) -> bool:
    """Say whether a unit that was heard on the network is of a profile's kind."""
    match = profile.match
    if not match.service_type or sighting.service_type.lower() != match.service_type:
        return False
    said = {key.lower(): value for key, value in sighting.txt.items()}
    return all(said.get(key) in values for key, values in match.txt.items())


def announces(profile: Profile, topic: str) -> bool:
    """Say whether a topic at a broker is an announcement of a profile's kind."""
    wanted, levels = profile.match.announcement.split("/"), topic.split("/")
    return (
        bool(profile.match.announcement)
        and len(wanted) == len(levels)
        and all(want in {"+", level} for want, level in zip(wanted, levels, strict=True))
    )


def service_types(profiles: Iterable[Profile]) -> tuple[str, ...]:
    """Return what has to be listened for so that units of these profiles are heard, each once."""
    return tuple(dict.fromkeys(p.match.service_type for p in profiles if p.match.service_type))


def announcement_filters(profiles: Iterable[Profile]) -> tuple[str, ...]:
    """Return what has to be subscribed to at a broker so that units of these profiles are heard."""
    return tuple(dict.fromkeys(p.match.announcement for p in profiles if p.match.announcement))


def needed(profile: Profile) -> tuple[str, ...]:
    """Return the paths to ask a unit for, each once, before its placeholders can be filled."""
    sources = profile.placeholders.values()
    return tuple(dict.fromkeys(source.path for source in sources if source.origin is Origin.HTTP))


def base_url(profile: Profile, sighting: Sighting) -> str:
    """Return the address that a unit of a profile counts as described at: its origin's root.

    Raises:
        UnitError: the sighting has no address.
    """
    host, port = _host_and_port(sighting, profile.scheme)
    written_host = f"[{host}]" if ":" in host else host
    return f"{profile.scheme}://{written_host}:{port}/"


def gather(
    profile: Profile,
    sighting: Sighting,
    answers: Mapping[str, Json],
    announcement: Announcement | None = None,
) -> dict[str, Json]:
    """Return the value of every placeholder, as it came.

    Args:
        profile: the unit's.
        sighting: where and as what it was heard.
        answers: what it answered, for every path of `needed`.
        announcement: what it announced, for a profile of units behind a broker.

    Raises:
        UnitError: it doesn't say one of them.
    """
    said = _Said(sighting, profile.scheme, answers, announcement)
    return {name: said.of(name, source) for name, source in profile.placeholders.items()}


@dataclass(frozen=True, slots=True)
class _Said:
    """All that one unit said so far."""

    sighting: Sighting
    scheme: str
    answers: Mapping[str, Json]
    announcement: Announcement | None

    def of(self, name: str, source: Source) -> Json:
        """Return the value for one placeholder."""
        match source.origin:
            case Origin.CONST:
                return source.value
            case Origin.ADDRESS:
                host, port = _host_and_port(self.sighting, self.scheme)
                return host if source.key == "host" else port
            case Origin.ADVERT:
                return self.sighting.name
            case Origin.TXT:
                return self._of_txt(name, source)
            case Origin.HTTP:
                return self._at(name, source, self.answers.get(source.path), source.path)
        return self._of_announcement(name, source)

    def _of_txt(self, name: str, source: Source) -> str:
        for key, value in self.sighting.txt.items():
            if key.lower() == source.key:
                return value
        raise _missing(name, f"its advert has no {source.key}", self.sighting)

    def _of_announcement(self, name: str, source: Source) -> Json:
        if self.announcement is None:
            raise _missing(name, "it announced nothing", self.sighting)
        topic = self.announcement.topic
        if source.level:
            levels = topic.split("/")
            if source.level > len(levels):
                raise _missing(name, f"{topic[:80]} has no level {source.level}", self.sighting)
            return levels[source.level - 1]
        payload = parse_json(self.announcement.payload, subject=self.sighting.name)
        return self._at(name, source, payload, topic)

    def _at(self, name: str, source: Source, held: Json, where: str) -> Json:
        try:
            return value_at(source.pointer or (), held)
        except LookupError as absent:
            shown = written(source.pointer or ())
            raise _missing(name, f"{where[:80]} has nothing at {shown}", self.sighting) from absent


def _host_and_port(sighting: Sighting, scheme: str) -> tuple[str, int]:
    """Return where a unit was met; where no port is named, the usual one of how it is spoken to."""
    try:
        parts = urlsplit(sighting.url)
        port = parts.port or _DEFAULT_PORTS[scheme]
    except ValueError as broken:
        raise _no_address(sighting) from broken
    if not parts.hostname:
        raise _no_address(sighting)
    return parts.hostname, port


def _no_address(sighting: Sighting) -> UnitError:
    return UnitError(
        "there is no host in its address.",
        subject=sighting.name,
        stands="Nothing was asked of it.",
        next_step="Add it by its address.",
    )


def _missing(name: str, why: str, sighting: Sighting) -> UnitError:
    return UnitError(
        f"it doesn't say its {name}: {why}.",
        subject=sighting.name,
        stands="Nothing was kept of it.",
        next_step="Check that the unit is of this profile's kind; if it is, mend the profile.",
    )
