"""A stranger's data schema, copied keyword by keyword.

1. Only the keywords listed here are copied, and only with a value of the right kind. So no `$ref` is
   left to be fetched, no division by a step of zero, no comparison with a word.
2. `@type` and `unit` are expanded on the way, so everything later finds fields by their IRI.
3. A pattern is kept only where matching it can't take long: no groups, few repeats. What isn't
   checked here the unit checks itself.
4. Our own terms (`pres:factor`, `pres:words`, `pres:absent`) are copied under their full names; how
   they are used stands in `meanings` and `assembly`.
5. An empty `oneOf` (some servers write one for every property) would refuse everything; it goes.
"""

import re
from collections.abc import Callable, Mapping, Sequence

from fleet.description.documents import Json, as_array, as_object, as_texts
from fleet.description.expansion import Prefixes
from fleet.description.limits import MAX_FACTOR, MAX_PATTERN_CHARS, MAX_WORD_CHARS, MAX_WORDS
from fleet.description.units import leading_type, scale_of, sign_of
from fleet.description.vocabulary import ABSENT, FACTOR, WORDS, label_of

Schema = Mapping[str, Json]
"""A data schema of which only sound keywords are left."""

Note = Callable[[str], None]
"""Takes a complaint about the description."""

_TYPES = frozenset({"object", "array", "string", "number", "integer", "boolean", "null"})
_MAX_REPEATS = 4
_BRANCHES = ("oneOf", "anyOf", "allOf")


def copy_schema(raw: Mapping[str, Json], prefixes: Prefixes, note: Note) -> dict[str, Json]:
    """Return the sound part of a data schema, with its types and units expanded.

    Args:
        raw: the schema as the description has it.
        prefixes: what the description's context defines.
        note: is told of every keyword that had to be left out.
    """
    schema: dict[str, Json] = {
        key: raw[key] for key, sound in _SOUND.items() if key in raw and sound(raw[key])
    }
    schema.update({key: raw[key] for key in ("const", "default") if key in raw})
    for key in _SOUND.keys() & raw.keys() - schema.keys():
        note(f"the schema keyword {key} has a value that can't be used")
    _copy_own_terms(raw, schema, prefixes, note)
    _copy_types(raw, schema, prefixes, note)
    _copy_inner(raw, schema, prefixes, note)
    return schema


def types_of(schema: Schema) -> frozenset[str]:
    """Return the expanded types of a copied schema."""
    return frozenset(as_texts(schema.get("@type")))


def members_of(schema: Schema) -> dict[str, dict[str, Json]]:
    """Return the members of an object schema by name, those of its branches included."""
    found: dict[str, dict[str, Json]] = {}
    for branch in branches_of(schema):
        found = members_of(branch) | found
    for name, member in as_object(schema.get("properties")).items():
        found[name] = as_object(member)
    return found


def branches_of(schema: Schema) -> Sequence[dict[str, Json]]:
    """Return the alternatives and parts that a schema is made of."""
    found: list[dict[str, Json]] = []
    for key in _BRANCHES:
        inner = schema.get(key)
        found += [as_object(branch) for branch in inner] if isinstance(inner, list) else []
    return found


def is_number(value: Json) -> bool:
    """Say whether a JSON value is a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _copy_own_terms(
    raw: Mapping[str, Json], schema: dict[str, Json], prefixes: Prefixes, note: Note
) -> None:
    for key, value in raw.items():
        term = prefixes.expand(key)
        sound = _SOUND_OWN.get(term)
        if sound is not None and sound(value):
            schema[term] = value
        elif sound is not None:
            note(f"the schema's {label_of(term)} has a value that can't be used")


def _copy_types(
    raw: Mapping[str, Json], schema: dict[str, Json], prefixes: Prefixes, note: Note
) -> None:
    types = prefixes.expand_all(raw.get("@type"))
    if types:
        schema["@type"] = [*sorted(types)]
    unit = raw.get("unit")
    if isinstance(unit, str):
        schema["unit"] = prefixes.expand(unit)
    ours = leading_type(types)
    if ours and scale_of(ours, schema.get("unit")) is None:
        sign = sign_of(schema.get("unit"))
        note(f"{label_of(ours)} comes in {sign}, which can't be converted; it is left as it comes")


def _copy_inner(
    raw: Mapping[str, Json], schema: dict[str, Json], prefixes: Prefixes, note: Note
) -> None:
    members = as_object(raw.get("properties"))
    if members:
        schema["properties"] = {
            name: copy_schema(as_object(member), prefixes, note) for name, member in members.items()
        }
    if isinstance(raw.get("items"), dict):
        schema["items"] = copy_schema(as_object(raw["items"]), prefixes, note)
    for key in _BRANCHES:
        branches = raw.get(key)
        if isinstance(branches, list) and branches:
            schema[key] = [copy_schema(as_object(branch), prefixes, note) for branch in branches]


def _is_type(value: Json) -> bool:
    names = as_texts(value)
    return bool(names) and len(names) == len(as_array(value)) and set(names) <= _TYPES


def _is_positive(value: Json) -> bool:
    return is_number(value) and isinstance(value, int | float) and value > 0


def _is_count(value: Json) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _is_flag(value: Json) -> bool:
    return isinstance(value, bool)


def _is_text(value: Json) -> bool:
    return isinstance(value, str)


def _is_filled_array(value: Json) -> bool:
    return isinstance(value, list) and bool(value)


def _is_array_of_texts(value: Json) -> bool:
    return isinstance(value, list) and len(as_texts(value)) == len(value)


def _is_factor(value: Json) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return 1 / MAX_FACTOR <= abs(value) <= MAX_FACTOR


def _is_words(value: Json) -> bool:
    if not isinstance(value, dict) or not 0 < len(value) <= MAX_WORDS:
        return False
    short = all(len(word) <= MAX_WORD_CHARS for word in value)
    return short and all(isinstance(ours, bool | int | float | str) for ours in value.values())


def _is_quick_pattern(value: Json) -> bool:
    if not isinstance(value, str) or len(value) > MAX_PATTERN_CHARS:
        return False
    if "(" in value or len(re.findall(r"[*+?{]", value)) > _MAX_REPEATS:
        return False
    try:
        re.compile(value)
    except (re.error, OverflowError):
        return False
    return True


_SOUND: Mapping[str, Callable[[Json], bool]] = {
    "type": _is_type,
    "enum": _is_filled_array,
    "minimum": is_number,
    "maximum": is_number,
    "exclusiveMinimum": is_number,
    "exclusiveMaximum": is_number,
    "multipleOf": _is_positive,
    "minLength": _is_count,
    "maxLength": _is_count,
    "pattern": _is_quick_pattern,
    "minItems": _is_count,
    "maxItems": _is_count,
    "required": _is_array_of_texts,
    "readOnly": _is_flag,
    "writeOnly": _is_flag,
    "title": _is_text,
    "format": _is_text,
    "contentEncoding": _is_text,
}

_SOUND_OWN: Mapping[str, Callable[[Json], bool]] = {
    FACTOR: _is_factor,
    WORDS: _is_words,
    ABSENT: _is_words,  # members and plain values as well
}
