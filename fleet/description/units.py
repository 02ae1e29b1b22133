"""Units of measure: a unit's numbers into our integers and back, exactly.

A schema names its unit by a QUDT IRI (`qunit:CentiM`) or by the common sign (`cm`). Each conversion is
`ours = factor × theirs + offset` in fractions; rounding happens once, at the end. A `pres:factor` comes
first: their number × factor is in the schema's unit (tenths of a degree: unit "deg", factor 0.1).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from fleet.description.documents import Json
from fleet.description.texts import plain_text
from fleet.description.vocabulary import FRACTIONAL, OUR_UNITS, PRES

_QUDT = "http://qudt.org/vocab/unit/"
_MOST_CHARS = 40
_ZERO = Fraction(0)
_FLOATS_END = 2**1023


@dataclass(frozen=True, slots=True)
class _Measure:
    """A unit as `base = factor × value + offset` of its quantity's base unit."""

    quantity: str
    factor: Fraction
    offset: Fraction = _ZERO


_FAHRENHEIT = _Measure("temperature", Fraction(5, 9), Fraction(-160, 9))

_MEASURES: Mapping[str, _Measure] = {
    "mm": _Measure("length", Fraction(1)),
    "cm": _Measure("length", Fraction(10)),
    "dm": _Measure("length", Fraction(100)),
    "m": _Measure("length", Fraction(1000)),
    "in": _Measure("length", Fraction(254, 10)),
    "ft": _Measure("length", Fraction(3048, 10)),
    "ms": _Measure("time", Fraction(1, 1000)),
    "s": _Measure("time", Fraction(1)),
    "min": _Measure("time", Fraction(60)),
    "h": _Measure("time", Fraction(3600)),
    "mm/s": _Measure("speed", Fraction(1)),
    "cm/s": _Measure("speed", Fraction(10)),
    "m/s": _Measure("speed", Fraction(1000)),
    "km/h": _Measure("speed", Fraction(1_000_000, 3600)),
    "lux": _Measure("illuminance", Fraction(1)),
    "deg": _Measure("angle", Fraction(1)),
    "mdeg": _Measure("angle", Fraction(1, 1000)),
    "rad": _Measure("angle", Fraction(180 / math.pi)),
    "m°C": _Measure("temperature", Fraction(1, 1000)),
    "°C": _Measure("temperature", Fraction(1)),
    "°F": _FAHRENHEIT,
    "K": _Measure("temperature", Fraction(1), Fraction(-27315, 100)),
    "mV": _Measure("voltage", Fraction(1)),
    "V": _Measure("voltage", Fraction(1000)),
    "Hz": _Measure("rate", Fraction(1)),
    "/min": _Measure("rate", Fraction(1, 60)),
    "%": _Measure("ratio", Fraction(1, 100)),
    "‰": _Measure("ratio", Fraction(1, 1000)),
    "ppm": _Measure("ratio", Fraction(1, 1_000_000)),
    "1": _Measure("ratio", Fraction(1)),
    "dBm": _Measure("signal", Fraction(1)),
}

_SIGNS: Mapping[str, str] = {
    "MilliM": "mm",
    "CentiM": "cm",
    "DeciM": "dm",
    "M": "m",
    "IN": "in",
    "FT": "ft",
    "MilliSEC": "ms",
    "SEC": "s",
    "MIN": "min",
    "HR": "h",
    "MilliM-PER-SEC": "mm/s",
    "CentiM-PER-SEC": "cm/s",
    "M-PER-SEC": "m/s",
    "KiloM-PER-HR": "km/h",
    "LUX": "lux",
    "lx": "lux",
    "DEG": "deg",
    "°": "deg",
    "RAD": "rad",
    "MilliDEG_C": "m°C",
    "DEG_C": "°C",
    "DEG_F": "°F",
    "MilliV": "mV",
    "HZ": "Hz",
    "PER-MIN": "/min",
    "PERCENT": "%",
    "PERCENT_RH": "%",
    "PERMILLE": "‰",
    "PPM": "ppm",
    "UNITLESS": "1",
    "DeciB_M": "dBm",
}


@dataclass(frozen=True, slots=True)
class Scale:
    """How a unit's number becomes ours: `ours = factor × theirs + offset`.

    Attributes:
        factor: our units in one of theirs.
        offset: what their zero is in ours.
        whole: our value is an integer.
    """

    factor: Fraction = Fraction(1)
    offset: Fraction = _ZERO
    whole: bool = False

    @property
    def same(self) -> bool:
        """The unit's number is ours as it stands."""
        return self.factor == 1 and not self.offset

    def to_ours(self, value: int | float) -> int | float:
        """Return a unit's number in our unit, rounded to a whole where ours is one."""
        if self.same and (isinstance(value, int) or not self.whole):
            return value
        exact = Fraction(value) * self.factor + self.offset
        return round(exact) if self.whole else _written(exact)

    def to_theirs(
        self, value: int | float, step: int | float | None, *, whole: bool
    ) -> int | float:
        """Return our number in the unit's own unit, on its grid.

        Args:
            value: in our unit.
            step: the unit's `multipleOf`, or None.
            whole: the unit takes integers only.
        """
        if self.same:
            return value
        exact = (Fraction(value) - self.offset) / self.factor
        grid = Fraction(str(step)) if step else Fraction(1)
        if step or whole:
            exact = round(exact / grid) * grid
        return int(exact) if exact.denominator == 1 else _written(exact)


def _written(exact: Fraction) -> int | float:
    """Return a fraction as a number; beyond a float's end it is whole anyway."""
    return float(exact) if abs(exact) < _FLOATS_END else round(exact)


UNCHANGED = Scale()


def sign_of(unit: Json) -> str:
    """Return the common sign of a schema's unit ("mm" for `qunit:MilliM`), an unknown one safe to show."""
    name = unit.removeprefix(_QUDT) if isinstance(unit, str) else ""
    return _SIGNS.get(name) or plain_text(name, _MOST_CHARS)


def scale_of(type_iri: str, unit: Json, factor: Json = None) -> Scale | None:
    """Return how a typed value in `unit` becomes ours, or None where there is no way.

    Args:
        type_iri: a type of ours, or "".
        unit: the schema's; one without is taken to speak ours.
        factor: what a number is multiplied by to be in `unit` (`pres:factor`), None for nothing.

    A type of no unit stays as it is, but for the factor.
    """
    times = factor_of(factor)
    ours = OUR_UNITS.get(type_iri)
    if ours is None:
        return Scale(times)
    whole = type_iri not in FRACTIONAL
    sign = sign_of(unit)
    if sign in {"", ours}:
        return Scale(times, whole=whole)
    theirs, target = _MEASURES.get(sign), _MEASURES[ours]
    if theirs is None or theirs.quantity != target.quantity:
        return None
    return Scale(
        times * theirs.factor / target.factor,
        (theirs.offset - target.offset) / target.factor,
        whole,
    )


def factor_of(factor: Json) -> Fraction:
    """Return a `pres:factor` as it is written: 0.1 is a tenth, not the nearest binary number."""
    sound = isinstance(factor, int | float) and not isinstance(factor, bool)
    return Fraction(str(factor)) if sound else Fraction(1)


def meant(value: int | float, factor: Json) -> int | float:
    """Return a unit's number in its schema's own unit: times the factor, if there is one."""
    if factor is None:
        return value
    exact = Fraction(value) * factor_of(factor)
    return int(exact) if exact.denominator == 1 else _written(exact)


def leading_type(types: frozenset[str]) -> str:
    """Return the type of ours among a field's types, or "" where it has none."""
    return min((iri for iri in types if iri.startswith(PRES)), default="")
