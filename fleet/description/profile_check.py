"""A unit profile tried out: is it sound, and if not, where exactly?

1. JSON and the profile's own rules come first; they end with one mistake.
2. Then the Thing Model is filled with samples and read as a unit's description would be. Everything
   that the reader complains of in a unit is a mistake in a profile, whose author can mend it.
3. A unit is known by its serial alone, so some property has to say it.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from fleet.description.documents import Json, as_array, as_object, parse_document
from fleet.description.filling import fill
from fleet.description.located import FileMistakeError, Located, Path, read_located
from fleet.description.profile_parts import Origin, Source, ValueType
from fleet.description.profiles import Profile, profile_of
from fleet.description.schemas import Schema, members_of, types_of
from fleet.description.stated import readable
from fleet.description.texts import plain_text
from fleet.description.things import Thing, read_thing
from fleet.description.vocabulary import IDENTITY, SERIAL_NUMBER
from fleet.model.errors import UnitError

_KINDS = ("properties", "actions", "events")
_LEFT_OUT = "a form was left out"
_KEYWORD = "the schema keyword "
_SAMPLE_HOST = "192.0.2.1"  # RFC 5737: an address for documents, nobody's
_SAMPLE_PORTS = {"http": 80, "https": 443, "mqtt": 1883, "mqtts": 8883}
_SAMPLES: Mapping[ValueType, Json] = {
    ValueType.TEXT: "SAMPLE",
    ValueType.INTEGER: 1000,
    ValueType.BOOLEAN: True,
}


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong in a file.

    Attributes:
        line: where, counted from 1.
        sentence: what.
    """

    line: int
    sentence: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of a check.

    Attributes:
        profile: as far as it could be read, else None.
        thing: what a unit of it looks like, filled with samples; None where that failed.
        mistakes: by line; none in a sound profile.
    """

    profile: Profile | None = None
    thing: Thing | None = None
    mistakes: tuple[Mistake, ...] = ()


def check_profile(raw: bytes, name: str, td_schema: Mapping[str, Json] | None = None) -> Checked:
    """Try a profile out.

    Args:
        raw: the file's bytes.
        name: the file's name, for errors.
        td_schema: the official schema of TD 1.1, to hold the filled Thing Model against.
    """
    try:
        located = read_located(raw, name)
        profile = profile_of(located, name)
    except FileMistakeError as wrong:
        return Checked(mistakes=(Mistake(wrong.line, wrong.what),))
    try:
        filled = fill(profile, _samples(profile))
        thing = read_thing(filled, _sample_url(profile), td_schema=td_schema)
    except UnitError as wrong:
        line = located.line_of(("thing_model",))
        return Checked(profile, mistakes=(Mistake(line, f"filled with samples: {wrong.what}"),))
    places = _Places(parse_document(filled, subject=name), _sample_url(profile), located)
    found = [Mistake(places.line_of(said), f"{said}.") for said in thing.complaints]
    found += [Mistake(located.line_of(path), said) for path, said in _without_serial(thing)]
    return Checked(profile, thing, tuple(sorted(found, key=lambda mistake: mistake.line)))


def _samples(profile: Profile) -> dict[str, Json]:
    return {name: _sample(source, profile.scheme) for name, source in profile.placeholders.items()}


def _sample(source: Source, scheme: str) -> Json:
    if source.origin is Origin.CONST:
        return source.value
    if source.origin is Origin.ADDRESS:
        return _SAMPLE_HOST if source.key == "host" else _SAMPLE_PORTS[scheme]
    return _SAMPLES[source.value_type]


def _sample_url(profile: Profile) -> str:
    return f"{profile.scheme}://{_SAMPLE_HOST}:{_SAMPLE_PORTS[profile.scheme]}/"


def _without_serial(thing: Thing) -> Iterator[tuple[Path, str]]:
    """Yield where the serial is missing, and why."""
    identity = thing.property_of(IDENTITY)
    if identity is None:
        yield (
            ("thing_model", "properties"),
            "no property is a pres:Identity, so no unit has a serial.",
        )
    elif not _names_serial(identity.schema):
        path: Path = ("thing_model", "properties", identity.name)
        yield path, "no member of this is the pres:SerialNumber, by which a unit is known."
    elif not readable(identity):
        path = ("thing_model", "properties", identity.name)
        yield path, "the serial comes from nowhere: no form reads it, no part and no const says it."


def _names_serial(schema: Schema) -> bool:
    inner = members_of(schema).values()
    return any(SERIAL_NUMBER in types_of(member) or _names_serial(member) for member in inner)


class _Places:
    """Finds the line that a complaint about the filled Thing Model is of."""

    def __init__(self, document: dict[str, Json], url: str, located: Located) -> None:
        self._document = document
        self._url = url
        self._located = located

    def line_of(self, complaint: str) -> int:
        """Return the line that a complaint speaks of, or that of the whole Thing Model."""
        return self._located.line_of(("thing_model", *self._path_of(complaint)))

    def _path_of(self, complaint: str) -> Path:
        if complaint.startswith("at /"):
            return self._steps(complaint[4:].partition(": ")[0].split("/"))
        name, _, said = complaint.partition(": ")
        meant = [
            self._within((kind, own_name), said)
            for kind in _KINDS
            for own_name in as_object(self._document.get(kind))
            if plain_text(own_name) == name
        ]
        # A property and an action may share a name: the one where something is found is meant.
        around: Path = ("base",) if "base" in complaint or "point to" in complaint else ()
        return max(meant, key=len, default=around)

    def _steps(self, words: Iterable[str]) -> Path:
        path: Path = ()
        for word in words:
            entry: Path = ("thing_model", *path, int(word)) if word.isdecimal() else ()
            path = (*path, int(word) if entry in self._located.lines and entry else word)
        return path

    def _within(self, path: tuple[str, str], said: str) -> Path:
        """Return which part of an affordance a complaint is about."""
        if said.startswith(_LEFT_OUT):
            return (*path, "forms", *self._form_of(path, said))
        if said.startswith(_KEYWORD):
            keyword = said.removeprefix(_KEYWORD).partition(" ")[0]
            return next((p for p in self._below(path) if p[-1] == keyword), path)
        return path

    def _below(self, path: Path) -> list[Path]:
        start = ("thing_model", *path)
        return [p[1:] for p in self._located.lines if p[: len(start)] == start and p != start]

    def _form_of(self, path: tuple[str, str], said: str) -> Path:
        """Return which of an affordance's forms is left out for a reason: each is tried alone."""
        kind, name = path
        affordance = as_object(as_object(self._document.get(kind)).get(name))
        bare = {key: held for key, held in self._document.items() if key not in _KINDS}
        for number, form in enumerate(as_array(affordance.get("forms"))):
            alone = {**bare, kind: {name: {**affordance, "forms": [form]}}}
            raw = json.dumps(alone).encode()
            if f"{plain_text(name)}: {said}" in read_thing(raw, self._url).complaints:
                return (number,)
        return ()
