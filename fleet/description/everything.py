"""Everything that a unit says, worded: nothing is dropped because the program has no use for it.

1. Every single value gets a line of its own: the unit's own names, joined by dots, and the value with its
   unit. A place in a list is its number, from 0. An empty list or object is a value as well.
2. Numbers are shown as the unit means them: times `pres:factor`, in the schema's own `unit`.
3. What isn't described is worded without a unit. Names and texts are made safe to show. Two names that look
   the same once that is done are told apart by a number.
4. More than a bounded number of values are counted and said so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import chain, islice

from fleet.description.assembly import same
from fleet.description.documents import Json, as_object
from fleet.description.limits import MAX_SAID, MAX_SAID_CHARS
from fleet.description.meanings import meaning_of
from fleet.description.schemas import Schema, members_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance
from fleet.description.units import meant, sign_of
from fleet.description.vocabulary import FACTOR, PRES, WORDS

_NO_NAME = "(no name)"
_WORDS: Mapping[object, str] = {None: "none", True: "true", False: "false"}


def everything_said(affordance: Affordance, value: Json) -> dict[str, str]:
    """Return each single value of a property in words, by the unit's own names.

    Args:
        affordance: the property.
        value: as it was read.

    Returns:
        For example {"climate.air": "21.5 °C"} of a property `climate`; {"light": "120 lux"} of a plain one.
    """
    return said_besides(affordance, value, {})


def said_besides(affordance: Affordance, value: Json, kept: Mapping[str, Json]) -> dict[str, str]:
    """Return in words what of a value isn't kept elsewhere already.

    Args:
        affordance: the property.
        value: as it was read.
        kept: those fields that are kept, as `fleet.description.values.fields` gives them. A value is kept
            if one of its field is the same: of two members of one type only one can be.
    """
    said: dict[str, str] = {}
    top = _Leaf(affordance.name, "", affordance.schema, value)
    leaves = (leaf for leaf in _leaves(top) if not leaf.is_kept(kept))
    for leaf in islice(leaves, MAX_SAID):
        said[_unlike(leaf.path, said)] = _in_words(leaf.schema, leaf.value)
    more = sum(1 for _ in leaves)
    if more:
        said[_unlike(f"{affordance.name} (more)", said)] = f"{more} further values, not listed"
    return said


@dataclass(frozen=True, slots=True)
class _Leaf:
    """A value on the way down: its path, the field that it belongs to, what describes it."""

    path: str
    field: str
    schema: Schema
    value: Json

    def is_kept(self, kept: Mapping[str, Json]) -> bool:
        """Say whether the field is kept and holds this value."""
        if self.field not in kept:
            return False
        held, ours = kept[self.field], meaning_of("", self.schema).ours(self.value)
        return same(held, ours) or (isinstance(held, list) and any(same(one, ours) for one in held))


def _leaves(above: _Leaf) -> Iterator[_Leaf]:
    value, schema = above.value, above.schema
    field = above.field if above.field.startswith(PRES) else meaning_of(above.field, schema).key
    inner: list[_Leaf]
    if isinstance(value, dict) and value:
        members = members_of(schema)
        inner = [
            _Leaf(f"{above.path}.{_named(name)}", name, members.get(name, {}), held)
            for name, held in value.items()
        ]
    elif isinstance(value, list) and value:
        items = {**_of_entries(schema), **as_object(schema.get("items"))}
        inner = [
            _Leaf(f"{above.path}.{place}", field, items, held) for place, held in enumerate(value)
        ]
    else:
        yield replace(above, field=field)
        return
    yield from chain.from_iterable(map(_leaves, inner))


def _of_entries(schema: Schema) -> Schema:
    """Return what a list's schema says of its entries as well: how their numbers are meant."""
    return {key: schema[key] for key in ("@type", "unit", FACTOR, WORDS) if key in schema}


def _in_words(schema: Schema, value: Json) -> str:
    if isinstance(value, dict | list):
        return "empty"
    if isinstance(value, str):
        return plain_text(value, MAX_SAID_CHARS)
    if value is None or isinstance(value, bool):
        return _WORDS[value]
    return f"{meant(value, schema.get(FACTOR))} {sign_of(schema.get('unit'))}".strip()


def _named(name: str) -> str:
    return plain_text(name) or _NO_NAME


def _unlike(path: str, said: Mapping[str, str]) -> str:
    """Return a path that isn't taken."""
    taken = (f"{path} ({number})" for number in range(2, len(said) + 3))
    return next(free for free in chain((path,), taken) if free not in said)
