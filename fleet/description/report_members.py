"""The members of a report: numbers and flags, found by type and read into ours.

1. A number goes through the unit's words, factor and unit (`meanings`); one whose unit can't be converted
   is not read.
2. Range and angle become x = range·sin, y = range·cos, the angle from y to the right. Each is rounded
   once, from range and angle as they came. Exactly half a millimetre can come out only at multiples of
   30°, where the sine of a rational angle is rational (Niven's theorem); there it is taken exactly.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from fleet.description import vocabulary as pres
from fleet.description.documents import Json, as_object, as_texts
from fleet.description.meanings import as_word, meaning_of
from fleet.description.schemas import Schema, members_of, types_of
from fleet.description.units import UNCHANGED, Scale, leading_type, scale_of

NOWHERE = "\0"
"""No unit names a member so: a number of this name is never there."""


class OddError(ValueError):
    """A report is nonsense; the text says how, the same for the same kind."""


@dataclass(frozen=True, slots=True)
class Number:
    """One number of a report: where it stands, how it becomes ours, and within what."""

    name: str
    label: str
    lowest: int
    highest: int
    convert: Callable[[int | float], int | float] | None
    words: Mapping[str, Json]
    scale: Scale

    @property
    def is_described(self) -> bool:
        """Whether the unit describes such a number at all, and in a unit that can be read."""
        return self.name != NOWHERE

    def of(self, held: Mapping[str, Json]) -> int | None:
        """Return the number in our unit, or None where the report has none.

        Raises:
            OddError: it is no number, or out of range.
        """
        said = held.get(self.name)
        if said is None:
            return None
        if self.words and (meant := self.words.get(as_word(said) or "")) is not None:
            return self._within(_numeric(meant, self.label))
        # bool is an int to Python; a flag is no measure.
        if said.__class__ is not int:
            if not isinstance(said, float):
                raise OddError(f"{self.label} is no number")
            said = said if self.convert else round(said)
        return self._within(said if self.convert is None else self.convert(said))

    def exactly(self, held: Mapping[str, Json]) -> Fraction:
        """Return the number that `of` found, before it was rounded."""
        said = held.get(self.name)
        meant = self.words.get(as_word(said) or "")
        if meant is not None:
            return Fraction(_numeric(meant, self.label))
        return Fraction(_numeric(said, self.label)) * self.scale.factor + self.scale.offset

    def _within(self, number: int | float) -> int:
        if not self.lowest <= number <= self.highest:
            raise OddError(f"{self.label} is out of range")
        return int(number)


@dataclass(frozen=True, slots=True)
class Flag:
    """One flag of a report: where it stands, and the unit's words for it."""

    name: str
    words: Mapping[str, Json]

    def of(self, held: Mapping[str, Json], label: str) -> bool:
        """Return the flag.

        Raises:
            OddError: it is neither true nor false.
        """
        said = held.get(self.name)
        meant = self.words.get(as_word(said) or "", said)
        if not isinstance(meant, bool):
            raise OddError(f"{label} is neither true nor false")
        return meant


def x_and_y(range_mm: Fraction, angle_mdeg: Fraction) -> tuple[int, int]:
    """Return where a range and an angle from y to the right lead, mm, each rounded once."""
    return round(range_mm * _sine(angle_mdeg)), round(range_mm * _sine(angle_mdeg + 90_000))


def _sine(angle_mdeg: Fraction) -> Fraction:
    turned = angle_mdeg % 360_000
    exact = _SINES.get(turned)
    return Fraction(math.sin(math.radians(float(turned) / 1000))) if exact is None else exact


_SINES: Mapping[Fraction, Fraction] = {
    Fraction(30_000 * step): Fraction(twice, 2)
    for step, twice in ((0, 0), (1, 1), (3, 2), (5, 1), (6, 0), (7, -1), (9, -2), (11, -1))
}
"""Where the sine is rational, by the angle in millidegrees."""


def _numeric(value: Json, label: str) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise OddError(f"{label} is no number")
    return value


def typed(members: Mapping[str, Schema], type_iri: str) -> tuple[str, Schema] | None:
    """Return the first member of a type, its name and schema; None where there is none."""
    found = ((name, member) for name, member in members.items() if type_iri in types_of(member))
    return next(found, None)


def name_of(members: Mapping[str, Schema], type_iri: str, otherwise: str) -> str:
    """Return the name of the member of a type, or the one that it keeps without a type."""
    found = typed(members, type_iri)
    return found[0] if found else otherwise


def flag_of(members: Mapping[str, Schema], type_iri: str, otherwise: str) -> Flag:
    """Return the flag of a type, or the one of a name."""
    name = name_of(members, type_iri, otherwise)
    return Flag(name, meaning_of(name, members.get(name, {})).words)


def number_of(members: Mapping[str, Schema], type_iri: str, lowest: int, highest: int) -> Number:
    """Return the number of a type; one that is never there where the report has none.

    Args:
        members: of the report, or of a list's entries.
        type_iri: which.
        lowest, highest: what is believed, in our unit.
    """
    name, member = typed(members, type_iri) or ("", {})
    words = meaning_of(name, member).words
    scale = scale_of(leading_type(types_of(member)), member.get("unit"), member.get(pres.FACTOR))
    at = name if name and scale is not None and (words or _is_numeric(member)) else NOWHERE
    convert = None if scale is None or scale.same else scale.to_ours
    return Number(at, pres.label_of(type_iri), lowest, highest, convert, words, scale or UNCHANGED)


def _is_numeric(member: Schema) -> bool:
    return not {"integer", "number"}.isdisjoint(as_texts(member.get("type", "integer")))


def list_with(
    members: Mapping[str, Schema], types: tuple[str, ...], otherwise: str
) -> tuple[str, dict[str, dict[str, Json]]]:
    """Return the name of the list whose entries have a member of these types, and its members."""
    for name, member in members.items():
        inner = members_of(as_object(member.get("items")))
        if any(typed(inner, type_iri) for type_iri in types):
            return name, inner
    return otherwise, {}
