"""A value held against the unit's schema before it is sent, with the reason in words.

The words are for a person on a ladder: "hold time 9000 s is above the unit's 3600 s". What a thing is
called comes from its type; a member without a type goes by the unit's own name.
"""

import math
import re
from collections.abc import Mapping
from typing import Any

from jsonschema import Draft7Validator
from jsonschema.exceptions import ValidationError
from referencing import Registry

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.schemas import members_of, types_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance
from fleet.description.units import leading_type, meant, sign_of
from fleet.description.vocabulary import FACTOR, label_of
from fleet.model.errors import PlanError

_MOST_WORDS = 60
_HALF = re.compile("[\ud800-\udfff]")  # half a surrogate pair is no UTF-8


def check_value(affordance: Affordance, value: Json, subject: str) -> None:
    """Hold a value against an affordance's schema.

    Args:
        affordance: a property, or an action whose input the value is.
        value: the whole value, in the unit's own members and units.
        subject: the unit, for the error.

    Raises:
        PlanError: the schema rules the value out; the first reason is in the message.
    """
    reason = _no_json(value) or _reason(affordance, value)
    if reason:
        raise PlanError(
            f"{reason}.",
            subject=subject,
            stands="Nothing was sent; the unit is as it was.",
            next_step="Choose a value that the unit takes.",
        )


def _reason(affordance: Affordance, value: Json) -> str:
    checker = Draft7Validator(affordance.schema, registry=Registry())
    error = next(checker.iter_errors(value), None)
    return _in_words(_innermost(error), affordance) if error else ""


def _innermost(error: ValidationError) -> ValidationError:
    """Follow alternatives to the one that was most likely meant, and to what is wrong there."""
    while error.context:
        by_branch: dict[Any, list[ValidationError]] = {}
        for inner in error.context:
            by_branch.setdefault(inner.schema_path[0], []).append(inner)
        error = min(by_branch.values(), key=_unlikeliness)[0]
    return error


def _unlikeliness(errors: list[ValidationError]) -> tuple[bool, int]:
    """A branch whose fixed word isn't met (the kind of shape, say) was hardly meant."""
    return any(error.validator == "const" for error in errors), len(errors)


def _in_words(error: ValidationError, affordance: Affordance) -> str:
    schema = _schema(error)
    sign, factor = sign_of(schema.get("unit")), schema.get(FACTOR)
    phrase = _PHRASES.get(str(error.validator), "{label} {value} isn't what the unit takes")
    required = as_object(members_of(schema).get(_missing(error)))
    return phrase.format(
        label=_label(schema, [str(step) for step in error.path], affordance),
        value=_shown(error.instance, sign, factor),
        limit=_shown(error.validator_value, sign, factor),
        count=_count(error.instance),
        most=error.validator_value,
        missing=_label(required, [_missing(error)], affordance),
    )


_PHRASES: Mapping[str, str] = {
    "minimum": "{label} {value} is below the unit's {limit}",
    "maximum": "{label} {value} is above the unit's {limit}",
    "exclusiveMinimum": "{label} {value} isn't above the unit's {limit}",
    "exclusiveMaximum": "{label} {value} isn't below the unit's {limit}",
    "multipleOf": "{label} {value} isn't a step of the unit's {limit}",
    "enum": "{label} {value} is none of the unit's {limit}",
    "const": "{label} {value} isn't the unit's {limit}",
    "type": "{label} {value} isn't of the unit's type {most}",
    "minLength": "{label} has {count} characters, the unit takes no fewer than {most}",
    "maxLength": "{label} has {count} characters, the unit takes no more than {most}",
    "minItems": "{label} has {count} entries, the unit takes no fewer than {most}",
    "maxItems": "{label} has {count} entries, the unit takes no more than {most}",
    "pattern": "{label} {value} isn't written as the unit wants it",
    "required": "{missing} is missing",
}


def _label(schema: Mapping[str, Json], path: list[str], affordance: Affordance) -> str:
    typed = leading_type(types_of(schema)) if path else leading_type(affordance.types)
    names = [step for step in path if not step.isdigit()]
    return label_of(typed) if typed else plain_text((names or [affordance.name])[-1])


def _missing(error: ValidationError) -> str:
    """Return the first required member that isn't there, or "" for another kind of error."""
    if error.validator != "required":
        return ""
    required, held = as_texts(_schema(error).get("required")), _held(error)
    return next(name for name in required if name not in held)


def _schema(error: ValidationError) -> dict[str, Json]:
    return error.schema if isinstance(error.schema, dict) else {}


def _held(error: ValidationError) -> dict[str, Json]:
    return error.instance if isinstance(error.instance, dict) else {}


def _shown(value: object, sign: str, factor: Json) -> str:
    """Word a value as the unit means it: a number times its factor, with its unit."""
    if isinstance(value, list):
        return ", ".join(plain_text(str(entry), 24) for entry in value[:12])
    if not isinstance(value, int | float) or isinstance(value, bool):
        return plain_text(str(value), _MOST_WORDS)
    words = plain_text(str(meant(value, factor)), _MOST_WORDS)
    return f"{words} {sign}" if sign else words


def _count(value: object) -> int:
    return len(value) if isinstance(value, str | list) else 0


def _no_json(value: Json) -> str:
    """Return a reason if a number or a text in the value is none that JSON can carry."""
    level = [value]
    while level:
        if any(isinstance(held, float) and not math.isfinite(held) for held in level):
            return "a number isn't finite"
        if any(isinstance(held, str) and _HALF.search(held) for held in level):
            return "a text holds half a character"
        level = [entry for held in level for entry in _entries(held)]
    return ""


def _entries(held: Json) -> list[Json]:
    if isinstance(held, dict):
        return [*held, *held.values()]
    return held if isinstance(held, list) else []
