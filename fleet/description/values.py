"""Values of a unit by type and in our units, and back into the whole value that the unit takes.

1. A field is found by its type, never by its name; where it has none of ours, or comes in a unit that
   can't be converted, it keeps the unit's own name and stands as it came.
2. What a field's values mean to us, and how they go back, is `meanings`' part.
3. Objects within objects are looked into, lists are not: their entries would share types.
4. Back: what the unit holds is kept, the changes go in, members that are read-only stay
   out unless the unit requires them. A number
   that is converted lands on the unit's own grid (`multipleOf`, integers); one that isn't converted
   is never changed on the way, so that a check can refuse it.
"""

from collections.abc import Iterator, Mapping

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.meanings import Meaning, meaning_of
from fleet.description.schemas import Schema, members_of
from fleet.description.things import Affordance
from fleet.description.vocabulary import PRES, label_of
from fleet.model.errors import PlanError


def fields(schema: Schema, value: Json) -> dict[str, Json]:
    """Return a value's fields by type IRI, or by own name where there is no type of ours.

    Args:
        schema: the affordance's.
        value: as it was read.
    """
    meaning = meaning_of("", schema)
    if not isinstance(value, dict):
        return {meaning.key: meaning.ours(value)} if meaning.key else {}
    found: dict[str, Json] = {}
    for name, member in members_of(schema).items():
        if name in value:
            _put(found, name, member, value[name])
    # What isn't described is kept too, under its own name.
    return {
        **{name: said for name, said in value.items() if name not in members_of(schema)},
        **found,
    }


def with_fields(affordance: Affordance, current: Json, changes: Mapping[str, Json]) -> Json:
    """Return the whole value to write: what the unit holds with these changes in it.

    Args:
        affordance: a property.
        current: as it was read.
        changes: by type IRI in our units, or by own name as the unit has it.

    Raises:
        PlanError: the unit has no such field, none that can be written, or no word for a value.
    """
    meaning = meaning_of("", affordance.schema)
    if meaning.key in changes:
        return meaning.theirs(changes[meaning.key])
    left = dict(changes)
    changed = _changed(affordance.schema, as_object(current), left)
    for missing in left:
        label = label_of(missing) if missing.startswith(PRES) else missing
        raise PlanError(f"{affordance.name} has no {label} that can be written.")
    return changed


def _put(found: dict[str, Json], name: str, member: Schema, said: Json) -> None:
    meaning = meaning_of(name, member)
    if isinstance(said, dict) and meaning.key == name:
        for inner, value in fields(member, said).items():
            found.setdefault(inner, value)
    else:
        found[meaning.key] = meaning.ours(said)


def _changed(schema: Schema, current: dict[str, Json], left: dict[str, Json]) -> dict[str, Json]:
    members, required = members_of(schema), as_texts(schema.get("required"))
    kept: dict[str, Json] = {
        name: said
        for name, said in current.items()
        if not as_object(members.get(name)).get("readOnly") or name in required
    }
    for name, meaning in _writable(members):
        if meaning.key in left:
            kept[name] = _written(meaning, current.get(name), left.pop(meaning.key))
        elif members_of(meaning.schema) and left:
            inner = _changed(meaning.schema, as_object(kept.get(name)), left)
            kept.update({name: inner} if inner else {})
    return kept


def _written(meaning: Meaning, current: Json, wanted: Json) -> Json:
    """Return what to write; of several words that mean the same, the one that stands stays."""
    if meaning.words and meaning.means(current, wanted):
        return current
    return meaning.theirs(wanted)


def _writable(members: Mapping[str, Schema]) -> Iterator[tuple[str, Meaning]]:
    for name, member in members.items():
        if not member.get("readOnly"):
            yield name, meaning_of(name, member)
