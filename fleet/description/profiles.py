"""Unit profiles: a file that brings in a unit which has no description of its own.

1. A profile holds a Thing Model (TD 1.1 §10) with `{{PLACEHOLDER}}`s, says where the value of each
   comes from, and how such a unit is recognised. Filled (`filling`), it is a description like any
   other and is read like one (`things`).
2. A person writes it, so each mistake is answered with its line.
3. A placeholder never stands in a name, in `@context` or in `@type`: what the words of a description
   mean is not for a unit to say. Nothing is fetched, so a Thing Model can't build upon another one.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from fleet.description.documents import Json
from fleet.description.limits import MAX_PLACEHOLDERS, MAX_TEXT_CHARS
from fleet.description.located import FileMistakeError, Located, Path, read_located
from fleet.description.profile_parts import (
    Match,
    Origin,
    PartError,
    Source,
    hold_members,
    read_match,
    read_source,
    text_of,
)
from fleet.description.templates import (
    ADDRESS_KEYS,
    hold_address,
    hold_braces,
    members_in,
    names_in,
    texts_in,
)
from fleet.description.texts import plain_text

FORMAT = "walkdown.profile.1"
"""The format's tag. What isn't understood is refused, so a change of meaning takes a new number."""

_NEEDED = {"format", "name", "note", "placeholders", "thing_model"}
_NAME = re.compile(r"(?=.{1,40}$)[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_PLACEHOLDER_NAME = re.compile(r"[A-Z][A-Z0-9_]{0,39}")
_MEANING = frozenset({"@context", "@type"})
_BUILDS_UPON = frozenset({"tm:ref", "tm:extends", "tm:submodel"})
_SCHEMES = frozenset({"http", "https", "mqtt", "mqtts"})

_Part = TypeVar("_Part")


@dataclass(frozen=True, slots=True)
class Profile:
    """One unit profile.

    Attributes:
        name: lower-case words joined by hyphens.
        note: what it is for, safe to show.
        match: how a unit is recognised.
        placeholders: where the value of each comes from.
        thing_model: as it stands in the file.
        scheme: how such a unit is spoken to: http, https, mqtt or mqtts.
    """

    name: str
    note: str
    match: Match
    placeholders: Mapping[str, Source]
    thing_model: Mapping[str, Json]
    scheme: str = "http"


def read_profile(raw: bytes, name: str) -> Profile:
    """Read a profile as far as its own rules go; `profile_check` tries it out besides.

    Args:
        raw: the file's bytes.
        name: the file's name, for errors.

    Raises:
        FileMistakeError: something in it is wrong; the error has the line.
    """
    return profile_of(read_located(raw, name), name)


def profile_of(located: Located, name: str) -> Profile:
    """Read a profile from JSON whose lines are known.

    Raises:
        FileMistakeError: as `read_profile`.
    """
    try:
        profile = _profile(located.value)
        _hold_levels(profile)
        _hold_model(profile)
        _hold_placeholders(profile)
    except PartError as wrong:
        line = located.line_of(wrong.path)
        raise FileMistakeError(str(wrong), name=name, line=line) from wrong
    return profile


def _profile(raw: Json) -> Profile:
    if not isinstance(raw, dict):
        raise PartError("a profile is a JSON object.")
    if raw.get("format") != FORMAT:
        raise PartError(f'format is "{FORMAT}".', "format")
    hold_members(raw, needed=_NEEDED, optional={"match"})
    profile_name, note = text_of(raw, "name"), text_of(raw, "note")
    if not _NAME.fullmatch(profile_name):
        raise PartError(
            "name is lower-case words joined by hyphens, 40 characters at most.", "name"
        )
    match = _within(("match",), read_match, raw["match"]) if "match" in raw else Match()
    model = _object(raw["thing_model"], "thing_model")
    return Profile(
        name=profile_name,
        note=plain_text(note, MAX_TEXT_CHARS * 4),
        match=match,
        placeholders=_placeholders(_object(raw["placeholders"], "placeholders")),
        thing_model=model,
        scheme=_scheme(model, match),
    )


def _placeholders(raw: dict[str, Json]) -> dict[str, Source]:
    if len(raw) > MAX_PLACEHOLDERS:
        raise PartError(f"a profile has at most {MAX_PLACEHOLDERS} placeholders.", "placeholders")
    for name in raw:
        if not _PLACEHOLDER_NAME.fullmatch(name):
            raise PartError(
                f"{plain_text(name, 40)!r} is no placeholder's name: capitals, digits, underscores, "
                "a capital first, 40 at most.",
                "placeholders",
                name,
            )
    return {
        name: _within(("placeholders", name), read_source, source) for name, source in raw.items()
    }


def _scheme(model: Mapping[str, Json], match: Match) -> str:
    base = model.get("base")
    named = base.partition("://")[0].lower() if isinstance(base, str) and "://" in base else ""
    if named and named not in _SCHEMES:
        raise PartError(
            f"base begins with one of {', '.join(sorted(_SCHEMES))}.", "thing_model", "base"
        )
    return named or ("mqtt" if match.announcement else "http")


def _hold_levels(profile: Profile) -> None:
    """Hold the `+` of an announcement's filter and the levels that are read to each other."""
    levels = profile.match.announcement.split("/")
    free = {number for number, level in enumerate(levels, 1) if level == "+"}
    for name, source in profile.placeholders.items():
        if source.origin is Origin.MQTT and not profile.match.announcement:
            raise PartError(
                f"{name} comes from an announcement, and match names none.", "placeholders", name
            )
        if source.level and source.level not in free:
            raise PartError(
                f"level {source.level} of the filter in match is no +.", "placeholders", name
            )
        if source.origin in {Origin.TXT, Origin.ADVERT} and profile.match.announcement:
            raise PartError(
                f"{name} comes from an advert, and match is a broker's.", "placeholders", name
            )
    read = {source.level for source in profile.placeholders.values()}
    for number in sorted(free - read):
        raise PartError(f"nothing reads the + at level {number}.", "match", "mqtt")


def _hold_model(profile: Profile) -> None:
    """Refuse what a filled Thing Model couldn't be read with."""
    for path in members_in(dict(profile.thing_model), ("thing_model",)):
        if path[-1] in _BUILDS_UPON:
            raise PartError(f"{path[-1]} isn't followed: nothing is fetched for a profile.", *path)
        if "{{" in str(path[-1]):
            raise PartError("a placeholder can't stand in a name.", *path)
    for path, text in texts_in(dict(profile.thing_model), ("thing_model",)):
        if "{{" in text and _MEANING.intersection(path):
            raise PartError("a placeholder can't stand in @context or @type.", *path)
        if text in _BUILDS_UPON:
            raise PartError(f"{text} isn't followed: nothing is fetched for a profile.", *path)
        _at(path, hold_braces, text)


def _hold_placeholders(profile: Profile) -> None:
    used: set[str] = set()
    for path, text in texts_in(dict(profile.thing_model), ("thing_model",)):
        for name in names_in(text):
            if name not in profile.placeholders:
                raise PartError(
                    f"{name} is used here, and placeholders doesn't say where it comes from.", *path
                )
            used.add(name)
        if path[-1] in ADDRESS_KEYS:
            _at(path, lambda held: hold_address(held, _of_address(profile)), text)
    for name in profile.placeholders:
        if name not in used:
            raise PartError(f"{name} is used nowhere in thing_model.", "placeholders", name)


def _of_address(profile: Profile) -> Callable[[str], bool]:
    return lambda name: profile.placeholders[name].origin in {Origin.ADDRESS, Origin.CONST}


def _object(raw: Json, name: str) -> dict[str, Json]:
    if not isinstance(raw, dict):
        raise PartError(f"{name} is an object.", name)
    return raw


def _within(path: Path, read: Callable[[dict[str, Json]], _Part], raw: Json) -> _Part:
    """Read a part; a mistake in it is told with its path from the root."""
    if not isinstance(raw, dict):
        raise PartError(f"{path[-1]} is an object.", *path)
    try:
        return read(raw)
    except PartError as wrong:
        raise PartError(str(wrong), *path, *wrong.path) from wrong


def _at(path: Path, hold: Callable[[str], None], text: str) -> None:
    try:
        hold(text)
    except ValueError as wrong:
        raise PartError(f"{wrong}.", *path) from wrong
