"""Values of a unit by type and in our units, and back into the whole value that the unit takes.

1. A field is found by its type, never by its name; where it has none of ours, or comes in a unit that
   can't be converted, it keeps the unit's own name and stands as it came.
2. Objects within objects are looked into, lists are not: their entries would share types.
3. Back: what the unit holds is kept, the changes go in, members that are read-only stay
   out unless the unit requires them. A number
   that is converted lands on the unit's own grid (`multipleOf`, integers); one that isn't converted
   is never changed on the way, so that a check can refuse it.
"""

from collections.abc import Iterator, Mapping

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.schemas import Schema, is_number, members_of, types_of
from fleet.description.things import Affordance
from fleet.description.units import Scale, leading_type, scale_of
from fleet.description.vocabulary import PRES, label_of
from fleet.model.errors import PlanError


def fields(schema: Schema, value: Json) -> dict[str, Json]:
    """Return a value's fields by type IRI, or by own name where there is no type of ours.

    Args:
        schema: the affordance's.
        value: as it was read.
    """
    key, scale = _key_and_scale("", schema)
    if not isinstance(value, dict):
        return {key: _ours(value, scale)} if key else {}
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
        PlanError: the unit has no such field, or none that can be written.
    """
    key, scale = _key_and_scale("", affordance.schema)
    if key in changes:
        return _theirs(changes[key], scale, affordance.schema)
    left = dict(changes)
    changed = _changed(affordance.schema, as_object(current), left)
    for missing in left:
        label = label_of(missing) if missing.startswith(PRES) else missing
        raise PlanError(f"{affordance.name} has no {label} that can be written.")
    return changed


def _put(found: dict[str, Json], name: str, member: Schema, said: Json) -> None:
    key, scale = _key_and_scale(name, member)
    if isinstance(said, dict) and key == name:
        for inner, value in fields(member, said).items():
            found.setdefault(inner, value)
    else:
        found[key] = _ours(said, scale)


def _changed(schema: Schema, current: dict[str, Json], left: dict[str, Json]) -> dict[str, Json]:
    members, required = members_of(schema), as_texts(schema.get("required"))
    kept: dict[str, Json] = {
        name: said
        for name, said in current.items()
        if not as_object(members.get(name)).get("readOnly") or name in required
    }
    for name, key, scale, member in _writable(members):
        if key in left:
            kept[name] = _theirs(left.pop(key), scale, member)
        elif members_of(member) and left:
            inner = _changed(member, as_object(kept.get(name)), left)
            kept.update({name: inner} if inner else {})
    return kept


def _writable(members: Mapping[str, Schema]) -> Iterator[tuple[str, str, Scale, Schema]]:
    for name, member in members.items():
        if not member.get("readOnly"):
            yield name, *_key_and_scale(name, member), member


def _key_and_scale(name: str, schema: Schema) -> tuple[str, Scale]:
    typed = leading_type(types_of(schema))
    scale = scale_of(typed, schema.get("unit"))
    return (typed or name, scale) if scale is not None else (name, Scale())


def _ours(value: Json, scale: Scale) -> Json:
    if isinstance(value, list):
        return [_ours(entry, scale) for entry in value]
    return scale.to_ours(value) if is_number(value) and isinstance(value, int | float) else value


def _theirs(value: Json, scale: Scale, schema: Schema) -> Json:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    step = schema.get("multipleOf")
    whole = "integer" in as_texts(schema.get("type"))
    return scale.to_theirs(value, step if isinstance(step, int | float) else None, whole=whole)
