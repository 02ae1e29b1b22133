"""Everything that a unit says, worded: nothing is dropped because the program has no use for it.

1. Every single value gets a line of its own: the unit's own names, joined by dots, and the value with its
   unit. A place in a list is its number, from 0. An empty list or object is a value as well.
2. Numbers are shown as the unit means them: times `pres:factor`, in the schema's own `unit`.
3. What isn't described is worded without a unit. Names and texts are made safe to show. Two names that look
   the same once that is done are told apart by a number.
4. More than a bounded number of values are counted and said so.
"""

from collections.abc import Iterator, Mapping
from itertools import chain, islice

from fleet.description.documents import Json, as_object
from fleet.description.limits import MAX_SAID, MAX_SAID_CHARS
from fleet.description.schemas import Schema, members_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance
from fleet.description.units import meant, sign_of
from fleet.description.vocabulary import FACTOR

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
    said: dict[str, str] = {}
    leaves = _leaves(affordance.name, affordance.schema, value)
    for path, words in islice(leaves, MAX_SAID):
        said[_unlike(path, said)] = words
    more = sum(1 for _ in leaves)
    if more:
        said[_unlike(f"{affordance.name} (more)", said)] = f"{more} further values, not listed"
    return said


def _leaves(path: str, schema: Schema, value: Json) -> Iterator[tuple[str, str]]:
    inner: Iterator[Iterator[tuple[str, str]]]
    if isinstance(value, dict) and value:
        members = members_of(schema)
        inner = (
            _leaves(f"{path}.{_named(name)}", members.get(name, {}), held)
            for name, held in value.items()
        )
    elif isinstance(value, list) and value:
        items = as_object(schema.get("items")) or _without_kind(schema)
        inner = (_leaves(f"{path}.{place}", items, held) for place, held in enumerate(value))
    else:
        yield path, _in_words(schema, value)
        return
    yield from chain.from_iterable(inner)


def _without_kind(schema: Schema) -> Schema:
    """Return what a list's schema says of its entries where it describes them no further: their unit."""
    return {key: schema[key] for key in ("unit", FACTOR) if key in schema}


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
