"""What a value of a unit means to us: by type, unit, factor and words, both ways.

1. A word table (`pres:words`) comes first: a value that is listed means what the table says, in our
   units, and isn't converted any further. One that isn't listed stands as it came.
2. A number then goes through factor and unit (`units`). A list is converted entry by entry.
3. Back: a value that a table lists is written as the unit's word for it, the first of several.
   With a table, what it doesn't list goes back only where it is a number and the unit takes numbers;
   anything else is refused.
4. A field whose unit can't be converted keeps the unit's own name; only its factor is applied.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.schemas import Schema, types_of
from fleet.description.texts import plain_text
from fleet.description.units import Scale, factor_of, leading_type, scale_of
from fleet.description.vocabulary import FACTOR, PRES, WORDS, label_of
from fleet.model.errors import PlanError

_FLAGS = {"true": True, "false": False}
_WHOLE = re.compile(r"-?\d{1,20}", re.ASCII)
_DECIMAL = re.compile(r"-?\d{1,20}\.\d{1,20}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Meaning:
    """How one field's values become ours and back.

    Attributes:
        key: its type of ours, or the unit's own name where it has none that can be converted.
        scale: for numbers.
        words: the unit's words, as text, and what they mean.
        schema: the field's.
    """

    key: str
    scale: Scale
    words: Mapping[str, Json]
    schema: Schema

    def ours(self, value: Json) -> Json:
        """Return a unit's value in our units and words."""
        if isinstance(value, list):
            return [self.ours(entry) for entry in value]
        word = as_word(value)
        if word is not None and word in self.words:
            return self.words[word]
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        return self.scale.to_ours(value)

    def means(self, theirs: Json, ours: Json) -> bool:
        """Say whether a unit's value means this value of ours."""
        return _same(self.ours(theirs), ours)

    def theirs(self, value: Json) -> Json:
        """Return our value as the unit takes it, on its own grid.

        Raises:
            PlanError: the unit has no word for it.
        """
        for word, ours in self.words.items():
            if _same(ours, value):
                return self._unworded(word)
        if not isinstance(value, int | float) or isinstance(value, bool):
            return self._without_a_word(value)
        if self.words and not self._takes({"integer", "number"}):
            return self._without_a_word(value)
        step = self.schema.get("multipleOf")
        whole = "integer" in as_texts(self.schema.get("type"))
        return self.scale.to_theirs(
            value, step if isinstance(step, int | float) else None, whole=whole
        )

    def _without_a_word(self, value: Json) -> Json:
        if not self.words:
            return value
        label = label_of(self.key) if self.key.startswith(PRES) else self.key
        known = ", ".join(plain_text(str(ours), 24) for ours in list(self.words.values())[:12])
        raise PlanError(
            f"the unit has no word for {plain_text(label)} {plain_text(str(value), 60)}; "
            f"it has some for {known}.",
            stands="Nothing was sent.",
            next_step="Choose one of these.",
        )

    def _unworded(self, word: str) -> Json:
        """Return a table's word as JSON of the kind that the schema takes."""
        if word in _FLAGS and self._takes({"boolean"}):
            return _FLAGS[word]
        if self._takes({"integer", "number"}):
            number = _number(word)
            return word if number is None else number
        return word

    def _takes(self, kinds: set[str]) -> bool:
        return not kinds.isdisjoint(as_texts(self.schema.get("type")))


def meaning_of(name: str, schema: Schema) -> Meaning:
    """Return what values of a field mean.

    Args:
        name: the unit's own name for it.
        schema: the field's.
    """
    typed = leading_type(types_of(schema))
    scale = scale_of(typed, schema.get("unit"), schema.get(FACTOR))
    words = as_object(schema.get(WORDS))
    if scale is None:
        return Meaning(name, Scale(factor_of(schema.get(FACTOR))), words, schema)
    return Meaning(typed or name, scale, words, schema)


def as_word(value: Json) -> str | None:
    """Return a plain value as a word table writes it: 1 and 1.0 are "1", true is "true"; else None."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value) if isinstance(value, str | int | float) else None


def _same(ours: Json, value: Json) -> bool:
    """Say whether two values are the same; 1 and true aren't."""
    return ours == value and isinstance(ours, bool) == isinstance(value, bool)


def _number(word: str) -> int | float | None:
    if _WHOLE.fullmatch(word):
        return int(word)
    return float(word) if _DECIMAL.fullmatch(word) else None
