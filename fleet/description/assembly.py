"""A property that is put together from others, and taken apart again. No unit is converted here.

1. Every value stays as the unit has it: the schema of the whole is made of the parts' own (`parts`), so
   whoever reads the whole converts by it.
2. A list keeps the place of every entry: one that isn't there is null, so that an entry can be written
   back to where it came from.
3. A list entry isn't there while its `when` isn't met or isn't known, while it holds what `pres:absent`
   lists (members deeper down are written "min/x"), or while a member that makes its place (x, y, range,
   angle, an edge of an area) is missing.
4. Taken apart, a null entry becomes what `pres:absent` lists, or nothing to write where there is no such
   thing. Only what differs from what stands is returned. What has no part is refused.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from fleet.description import vocabulary as pres
from fleet.description.documents import Json, as_object
from fleet.description.meanings import Meaning, meaning_of
from fleet.description.parts import Part, Pointer, is_place
from fleet.description.schemas import Schema, members_of, types_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance
from fleet.model.errors import PlanError

PLACE_TYPES = frozenset(
    {pres.SENSOR_X, pres.SENSOR_Y, pres.TARGET_RANGE, pres.TARGET_ANGLE, *pres.AREA_EDGES}
)
"""Types of the members without which a list entry is nowhere."""


_OF_32_BITS = 1e-6


class EntryStands(Enum):
    """How a list entry that is put together stands; incomplete is also one of which nobody knows."""

    HERE = "here"
    NOT_THERE = "not there"
    INCOMPLETE = "incomplete"


@dataclass(frozen=True, slots=True)
class Condition:
    """What a list entry stands by: a count that has to be at least so much.

    Attributes:
        name: of the property that is the count.
        at_least: how much.
        meaning: of that property's values.
    """

    name: str
    at_least: float
    meaning: Meaning

    def met(self, values: Mapping[str, Json]) -> bool | None:
        """Say whether it is met; None while nobody knows."""
        count = self.meaning.ours(values.get(self.name))
        return count >= self.at_least if isinstance(count, int | float) else None


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a list that is put together, worked out once from the description.

    Attributes:
        at: where it is.
        names: its parts.
        places: those of them that make its place.
        conditions: what it stands by.
        absent: parts with values that together mean that it isn't there; empty where nothing means that.
    """

    at: Pointer
    names: tuple[str, ...]
    places: tuple[str, ...]
    conditions: tuple[Condition, ...]
    absent: Mapping[str, Json]

    def stands(self, values: Mapping[str, Json]) -> EntryStands:
        """Say how the entry stands, by these values of the parts."""
        met = [condition.met(values) for condition in self.conditions]
        if False in met:
            return EntryStands.NOT_THERE
        absent = self.absent.items()
        if absent and all(name in values and same(values[name], said) for name, said in absent):
            return EntryStands.NOT_THERE
        missing = None in met or any(values.get(name) is None for name in self.places)
        return EntryStands.INCOMPLETE if missing else EntryStands.HERE


def put_together(
    affordance: Affordance,
    values: Mapping[str, Json],
    entries: Sequence[Entry] | None = None,
) -> Json:
    """Return the value of a property with parts.

    Args:
        affordance: the property.
        values: by the parts' names (and those of their conditions), as they were read; what wasn't read
            is missing.
        entries: the property's list entries, if they are at hand.
    """
    listed = entries_of(affordance) if entries is None else entries
    gone = {entry.at for entry in listed if entry.stands(values) is not EntryStands.HERE}
    whole: Json = None
    for part in affordance.parts:
        if part.entry in gone:
            whole = _with(whole, part.entry, None)
        elif part.name in values:
            whole = _with(whole, part.at, values[part.name])
    return whole


def taken_apart(
    affordance: Affordance, value: Json, standing: Mapping[str, Json]
) -> dict[str, Json]:
    """Return what to write to which part, in the parts' order; what stands already is left out.

    Args:
        affordance: the property.
        value: the whole, in the unit's own members and units.
        standing: by the parts' names, as they were read.

    Raises:
        PlanError: something in the value has no part that it could go to.
    """
    _refuse_homeless(affordance, value)
    changes: dict[str, Json] = {}
    for part in affordance.parts:
        found, wanted = _wanted(affordance, part, value)
        if found and not (part.name in standing and same(standing[part.name], wanted)):
            changes[part.name] = wanted
    return changes


def names_needed(affordance: Affordance) -> tuple[str, ...]:
    """Return the names of all parts and of the properties in their conditions, each once."""
    counts = (part.count for part in affordance.parts if part.count)
    return tuple(dict.fromkeys([*counts, *(part.name for part in affordance.parts)]))


def parts_by_entry(affordance: Affordance) -> dict[Pointer, list[Part]]:
    """Return the parts of each list entry."""
    found: dict[Pointer, list[Part]] = {}
    for part in affordance.parts:
        if part.entry:
            found.setdefault(part.entry, []).append(part)
    return found


def entries_of(affordance: Affordance) -> tuple[Entry, ...]:
    """Return the list entries of a property with parts."""
    return tuple(
        Entry(
            at=at,
            names=tuple(part.name for part in parts),
            places=tuple(part.name for part in parts if _makes_place(affordance, part)),
            conditions=_conditions(parts),
            absent=_absent(affordance, at, parts),
        )
        for at, parts in parts_by_entry(affordance).items()
    )


def _conditions(parts: Sequence[Part]) -> tuple[Condition, ...]:
    found = {(part.count, part.at_least): condition_of(part) for part in parts if part.count}
    return tuple(found.values())


def condition_of(part: Part) -> Condition:
    """Return what a part's list entry stands by; the part has to have a condition."""
    return Condition(part.count, part.at_least, meaning_of("", part.count_schema))


def _makes_place(affordance: Affordance, part: Part) -> bool:
    return not PLACE_TYPES.isdisjoint(types_of(schema_at(affordance.schema, part.at)))


def _absent(affordance: Affordance, at: Pointer, parts: Sequence[Part]) -> dict[str, Json]:
    described = as_object(schema_at(affordance.schema, at).get(pres.ABSENT))
    names = {member_of(part): part.name for part in parts}
    # A member that isn't a part can't be known to hold anything.
    if not described.keys() <= names.keys():
        return {}
    return {names[member]: said for member, said in described.items()}


def schema_at(schema: Schema, at: Pointer) -> Schema:
    """Return the schema of what stands at a place; an empty one where nothing is described."""
    for step in at:
        inner = schema.get("items") if is_place(step) else members_of(schema).get(step)
        schema = as_object(inner)
    return schema


def member_of(part: Part) -> str:
    """Return where a part stands within its list entry."""
    return "/".join(part.at[len(part.entry) :])


def same(one: Json, other: Json) -> bool:
    """Say whether two values are the same; 1 and 1.0 are, 1 and true aren't.

    Numbers with a fraction may differ in the seventh digit: many units hold them in 32 bits.
    """
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=_OF_32_BITS)
    if isinstance(other, float) and isinstance(one, int):
        return math.isclose(one, other, rel_tol=_OF_32_BITS)
    return one == other


def _with(whole: Json, at: Pointer, value: Json) -> Json:
    """Return the whole with a value at a place."""
    if not at:
        return value
    step, rest = at[0], at[1:]
    if is_place(step):
        listed = whole if isinstance(whole, list) else []
        longer = [*listed, *[None] * (int(step) + 1 - len(listed))]
        longer[int(step)] = _with(longer[int(step)], rest, value)
        return longer
    held = as_object(whole)
    return {**held, step: _with(held.get(step), rest, value)}


def _wanted(affordance: Affordance, part: Part, value: Json) -> tuple[bool, Json]:
    """Return whether the value says something for a part, and what."""
    entry_found, entry = _at(value, part.entry)
    if part.entry and entry_found and entry is None:
        absent = as_object(schema_at(affordance.schema, part.entry).get(pres.ABSENT))
        return member_of(part) in absent, absent.get(member_of(part))
    return _at(value, part.at)


def _at(value: Json, at: Pointer) -> tuple[bool, Json]:
    for step in at:
        if isinstance(value, list) and is_place(step) and int(step) < len(value):
            value = value[int(step)]
        elif isinstance(value, dict) and step in value:
            value = value[step]
        else:
            return False, None
    return True, value


def _refuse_homeless(affordance: Affordance, value: Json) -> None:
    homes = {part.at for part in affordance.parts}
    homeless = next((at for at in _leaves(value, (), homes) if at not in homes), None)
    if homeless is None:
        return
    raise PlanError(
        f"{affordance.name} has no part for {plain_text('/'.join(homeless) or 'the whole', 60)}.",
        stands="Nothing was sent.",
        next_step="Leave it out; the unit can't hold it.",
    )


def _leaves(value: Json, at: Pointer, homes: set[Pointer]) -> Iterator[Pointer]:
    """Go through where values stand, not into a part's own value; what is null says nothing."""
    if at in homes:
        return
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _leaves(inner, (*at, name), homes)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*at, str(index)), homes)
    elif value is not None:
        yield at
