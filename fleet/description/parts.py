"""Which properties a property is put together from (`pres:parts`), and where each one goes.

A unit of the scattered kind has a property for every single reading and every single setting. A property
with `pres:parts` has no forms of its own; it lists other properties of the same description:

    "pres:parts": [
      {"property": "body1right", "at": "/targets/0/x", "when": {"property": "bodies", "atLeast": 1}},
      {"property": "body1away", "at": "/targets/0/y", "when": {"property": "bodies", "atLeast": 1}}
    ]

1. `at` is a JSON pointer (RFC 6901) into the value that is put together. A step of digits only is a
   place in a list, every other one a member. "" (the whole value) is for nothing but a single part.
2. A part is another property, with forms; one that is put together itself is no part. So there are no
   cycles and nothing nests.
3. No two parts go to the same place, and none goes inside another's value.
4. Parts that go to the same member of different list entries mean the same: type, unit, factor, words.
5. Numbers of parts, depth and list places are bounded.
6. `when` holds for the list entry that the pointer goes through: it stands only while that property is at
   least the number (true counts as 1).
7. What breaks a rule is left out and complained about; the rest is read.
8. What stands at a place is described by the part's own schema; a keyword that this one lacks, a type for
   example, may stand in the schema of the property that is put together.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fleet.description.documents import Json, as_array, as_object, as_texts
from fleet.description.expansion import Prefixes
from fleet.description.limits import MAX_LIST_PLACES, MAX_PARTS, MAX_POINTER_CHARS
from fleet.description.pointers import read_pointer
from fleet.description.schemas import Note, Schema
from fleet.description.texts import plain_text
from fleet.description.vocabulary import FACTOR, PARTS, WORDS

Pointer = tuple[str, ...]
"""The unescaped steps of a JSON pointer."""

_INDEX = re.compile(r"0|[1-9]\d{0,3}", re.ASCII)
_MAX_STEPS = 8
_MEANING = ("@type", "type", "unit", FACTOR, WORDS)


@dataclass(frozen=True, slots=True)
class Part:
    """One property's place in the value that is put together.

    Attributes:
        name: of the property that is the part.
        at: where its value goes.
        count: the property that says whether its list entry stands, or "".
        at_least: what that one has to be at least.
        count_schema: that one's schema.
    """

    name: str
    at: Pointer
    count: str = ""
    at_least: float = 1
    count_schema: Schema = field(default_factory=dict)

    @property
    def entry(self) -> Pointer:
        """Where the list entry is that the part belongs to; () for a part of no list."""
        return next((self.at[: i + 1] for i, step in enumerate(self.at) if is_place(step)), ())


def is_place(step: str) -> bool:
    """Say whether a pointer's step is a place in a list."""
    return _INDEX.fullmatch(step) is not None


def _pointer(text: str) -> Pointer:
    """Read where a part goes.

    Raises:
        ValueError: it is no JSON pointer, or goes too deep or too far.
    """
    if len(text) > MAX_POINTER_CHARS:
        raise ValueError("where it goes is too long a pointer")
    steps = read_pointer(text)
    if len(steps) > _MAX_STEPS:
        raise ValueError(f"it goes deeper than {_MAX_STEPS} steps")
    if any(is_place(step) and int(step) >= MAX_LIST_PLACES for step in steps):
        raise ValueError(f"a list has no more than {MAX_LIST_PLACES} places")
    return steps


def has_parts(raw: Mapping[str, Json], prefixes: Prefixes) -> bool:
    """Say whether a description's property is put together from parts."""
    return any(prefixes.expand(key) == PARTS for key in raw)


def read_parts(
    raw: Mapping[str, Json], known: Mapping[str, Schema], prefixes: Prefixes, note: Note
) -> tuple[Part, ...]:
    """Return the sound parts of one property.

    Args:
        raw: the property as the description has it.
        known: the properties that can be parts, and their schemas.
        prefixes: what the description's context defines.
        note: is told of every part that was left out.
    """
    listed = as_array(next((raw[key] for key in raw if prefixes.expand(key) == PARTS), None))
    if len(listed) > MAX_PARTS:
        note(f"only {MAX_PARTS} of {len(listed)} parts were read")
    found: list[Part] = []
    places = _Places(known)
    for entry in listed[:MAX_PARTS]:
        try:
            part = _part(as_object(entry), known)
            places.take(part)
            found.append(part)
        except ValueError as broken:
            note(f"a part was left out: {broken}")
    return tuple(found)


def schema_with_parts(schema: Schema, parts: Sequence[Part], known: Mapping[str, Schema]) -> Schema:
    """Return the schema of the value that is put together, its places described by the parts'."""
    for part in parts:
        schema = _laid(schema, part.at, known[part.name])
    return schema


def _part(raw: Mapping[str, Json], known: Mapping[str, Schema]) -> Part:
    name, at = _known(raw.get("property"), known), next(iter(as_texts(raw.get("at"))), None)
    if at is None:
        raise ValueError(f"{name} doesn't say where it goes")
    condition = raw.get("when")
    if condition is None:
        return Part(name, _pointer(at))
    held = as_object(condition)
    count = _known(held.get("property"), known)
    part = Part(name, _pointer(at), count, _at_least(held.get("atLeast", 1)), known[count])
    if not part.entry:
        raise ValueError(f"{name} has a condition, but goes into no list")
    return part


def _at_least(value: Json) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    raise ValueError("a condition asks for a number that is none")


def _known(name: Json, known: Mapping[str, Schema]) -> str:
    shown = plain_text(name, 60) if isinstance(name, str) else ""
    if shown not in known:
        raise ValueError(f"no property that could be a part is called {shown!r}")
    return shown


class _Places:
    """What the parts that were read so far take up; asking costs a step of the pointer each."""

    def __init__(self, known: Mapping[str, Schema]) -> None:
        self._known = known
        self._taken: dict[Pointer, str] = {}
        self._within: dict[Pointer, bool] = {}
        self._meanings: dict[Pointer, tuple[Json, ...]] = {}

    def take(self, part: Part) -> None:
        """Take a part's place.

        Raises:
            ValueError: another part is in the way, or means something else in the same list.
        """
        ways = [part.at[:i] for i in range(len(part.at))]
        in_the_way = next((self._taken[way] for way in (*ways, part.at) if way in self._taken), "")
        if in_the_way or part.at in self._within:
            raise ValueError(f"{part.name} would go where {in_the_way or 'another'} goes already")
        kinds = {way: is_place(step) for way, step in zip(ways, part.at, strict=True)}
        if any(self._within.get(way, kind) != kind for way, kind in kinds.items()):
            raise ValueError(f"{part.name} takes for a list what others take for an object")
        meaning = tuple(self._known[part.name].get(key) for key in _MEANING)
        if self._meanings.setdefault(_member(part.at), meaning) != meaning:
            raise ValueError(f"{part.name} means something else than others of the same list")
        self._taken[part.at] = part.name
        self._within |= kinds


def _member(at: Pointer) -> Pointer:
    """Return a pointer that is the same for all entries of a list."""
    return tuple("0" if is_place(step) else step for step in at)


def _laid(schema: Schema, at: Pointer, leaf: Schema) -> dict[str, Json]:
    """Return a schema in which what stands at a place is described by the part's own."""
    if not at:
        return {**schema, **leaf}
    step, rest = at[0], at[1:]
    if is_place(step):
        places = max(int(step) + 1, _count(schema.get("maxItems")))
        inner = _laid(as_object(schema.get("items")), rest, leaf)
        return {"type": "array", **schema, "items": inner, "maxItems": places}
    members = as_object(schema.get("properties"))
    laid = _laid(as_object(members.get(step)), rest, leaf)
    return {"type": "object", **schema, "properties": {**members, step: laid}}


def _count(value: Json) -> int:
    return value if isinstance(value, int) else 0
