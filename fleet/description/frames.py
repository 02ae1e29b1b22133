"""Reports of a stream into values, fast, and without ever failing.

1. Which member is what is found once per unit, from the schema's types; each report then costs a JSON
   parse and a few look-ups.
2. A report is taken whole or not at all. What is out of range, of a wrong type, too long or no JSON is
   returned as a `Complaint`, never raised: one bad report must not end a stream.
3. Numbers in another unit are converted; a number that can't be is not read.
4. `time`, `targets` and `areas` keep these names where the schema gives them no type of their own.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import msgspec

from fleet.description import limits
from fleet.description import vocabulary as pres
from fleet.description.documents import Json, as_object, as_texts
from fleet.description.schemas import Schema, members_of, types_of
from fleet.description.things import Affordance
from fleet.description.units import leading_type, scale_of
from fleet.model.clock import from_rfc3339
from fleet.model.reports import AreaOccupied, OccupancyReport, Report, Target

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)


@dataclass(frozen=True, slots=True)
class Complaint:
    """A report that is nonsense: to be counted, and dropped.

    Attributes:
        reason: why, in a few words that are the same for the same kind, so they can be counted.
    """

    reason: str


class _OddError(ValueError):
    """A report is nonsense; the text says how, the same for the same kind."""


@dataclass(frozen=True, slots=True)
class _Number:
    """One number of a report: where it stands, how it becomes ours, and within what."""

    name: str
    label: str
    lowest: int
    highest: int
    convert: Callable[[int | float], int | float] | None

    def of(self, held: Mapping[str, Json]) -> int | None:
        """Return the number in our unit, or None where the report has none.

        Raises:
            _OddError: it is no number, or out of range.
        """
        said = held.get(self.name)
        if said is None:
            return None
        # bool is an int to Python; a flag is no measure.
        if said.__class__ is not int:
            if not isinstance(said, float):
                raise _OddError(f"{self.label} is no number")
            said = said if self.convert else round(said)
        number: int | float = said if self.convert is None else self.convert(said)
        if not self.lowest <= number <= self.highest:
            raise _OddError(f"{self.label} is out of range")
        return int(number)


class ReportReader:
    """Reads the reports of one unit's target frame."""

    def __init__(self, affordance: Affordance) -> None:
        """Find out which member is what, from the affordance's schema."""
        members = members_of(affordance.schema)
        self._time = _name_of(members, pres.SAMPLE_TIME, "time")
        self._number = _number(members, pres.REPORT_NUMBER, 0, limits.MAX_REPORT_NUMBER)
        self._targets, inner = _list_with(members, (pres.SENSOR_X, pres.TARGET_RANGE), "targets")
        self._most = _most(members.get(self._targets, {}))
        place = limits.MAX_PLACE_MM
        self._x = _number(inner, pres.SENSOR_X, -place, place)
        self._y = _number(inner, pres.SENSOR_Y, -place, place)
        self._range = _number(inner, pres.TARGET_RANGE, 0, place)
        speed = limits.MAX_SPEED_MM_S
        self._speed = _number(inner, pres.RADIAL_SPEED, -speed, speed)
        self._slot = _number(inner, pres.TARGET_ID, 0, limits.MAX_REPORT_NUMBER)

    def read(self, data: bytes | str) -> Report | Complaint:
        """Read one report; nonsense comes back as a complaint."""
        try:
            return self._report(_decoded(data))
        except _OddError as odd:
            return Complaint(str(odd))

    def _report(self, held: dict[str, Json]) -> Report:
        listed = held.get(self._targets)
        if not isinstance(listed, list):
            raise _OddError("targets are missing")
        if len(listed) > self._most:
            raise _OddError("more targets than the unit can have")
        targets = tuple([self._target(entry) for entry in listed])
        return Report(_time_ms(held.get(self._time)), self._number.of(held), targets)

    def _target(self, held: Json) -> Target:
        if not isinstance(held, dict):
            raise _OddError("a target is no object")
        x_mm, y_mm, range_mm = self._x.of(held), self._y.of(held), self._range.of(held)
        if (x_mm is None or y_mm is None) and range_mm is None:
            raise _OddError("a target has no place")
        return Target(x_mm, y_mm, range_mm, self._speed.of(held), self._slot.of(held))


class OccupancyReader:
    """Reads the reports of one unit's occupancy."""

    def __init__(self, affordance: Affordance) -> None:
        """Find out which member is what, from the affordance's schema."""
        members = members_of(affordance.schema)
        self._time = _name_of(members, pres.SAMPLE_TIME, "time")
        self._any = _name_of(members, pres.ANY_OCCUPANCY, "any")
        self._areas, inner = _list_with(members, (pres.AREA_OCCUPANCY, pres.AREA_ID), "areas")
        self._area_id = _name_of(inner, pres.AREA_ID, "id")
        self._occupied = _name_of(inner, pres.AREA_OCCUPANCY, "occupied")
        self._count = _number(inner, pres.TARGET_COUNT, 0, limits.MAX_TARGETS)

    def read(self, data: bytes | str) -> OccupancyReport | Complaint:
        """Read one report; nonsense comes back as a complaint."""
        try:
            return self._report(_decoded(data))
        except _OddError as odd:
            return Complaint(str(odd))

    def _report(self, held: dict[str, Json]) -> OccupancyReport:
        listed = held.get(self._areas, [])
        if not isinstance(listed, list) or len(listed) > limits.MAX_AREAS:
            raise _OddError("areas are no list of a likely length")
        occupied = _flag(held.get(self._any), "occupancy")
        areas = tuple(self._area(entry) for entry in listed)
        return OccupancyReport(_time_ms(held.get(self._time)), occupied, areas)

    def _area(self, held: Json) -> AreaOccupied:
        if not isinstance(held, dict):
            raise _OddError("an area is no object")
        area_id = held.get(self._area_id)
        if not isinstance(area_id, str):
            raise _OddError("an area has no id")
        occupied = _flag(held.get(self._occupied), "an area's occupancy")
        return AreaOccupied(area_id, occupied, self._count.of(held))


def _decoded(data: bytes | str) -> dict[str, Json]:
    if len(data) > limits.MAX_REPORT_BYTES:
        raise _OddError("too long")
    try:
        held = msgspec.json.decode(data)
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        raise _OddError("no JSON") from None
    if not isinstance(held, dict):
        raise _OddError("no JSON object")
    return held


def _flag(value: Json, label: str) -> bool:
    if not isinstance(value, bool):
        raise _OddError(f"{label} is neither true nor false")
    return value


def _time_ms(value: Json) -> int | None:
    if value is None:
        return None
    try:
        return (from_rfc3339(str(value)) - _EPOCH) // _MILLISECOND
    except (ValueError, OverflowError):
        raise _OddError("the sample time is no time") from None


def _typed(members: Mapping[str, Schema], type_iri: str) -> tuple[str, Schema] | None:
    found = ((name, member) for name, member in members.items() if type_iri in types_of(member))
    return next(found, None)


def _name_of(members: Mapping[str, Schema], type_iri: str, otherwise: str) -> str:
    found = _typed(members, type_iri)
    return found[0] if found else otherwise


def _number(members: Mapping[str, Schema], type_iri: str, lowest: int, highest: int) -> _Number:
    name, member = _typed(members, type_iri) or ("", {})
    scale = scale_of(leading_type(types_of(member)), member.get("unit"))
    # No unit names a member so: the number is then never there.
    at = name if name and scale is not None and _is_numeric(member) else "\0"
    convert = None if scale is None or scale.same else scale.to_ours
    return _Number(at, pres.label_of(type_iri), lowest, highest, convert)


def _is_numeric(member: Schema) -> bool:
    return not {"integer", "number"}.isdisjoint(as_texts(member.get("type", "integer")))


def _list_with(
    members: Mapping[str, Schema], types: tuple[str, ...], otherwise: str
) -> tuple[str, dict[str, dict[str, Json]]]:
    """Return the name of the list whose entries have a member of these types, and its members."""
    for name, member in members.items():
        inner = members_of(as_object(member.get("items")))
        if any(_typed(inner, type_iri) for type_iri in types):
            return name, inner
    return otherwise, {}


def _most(listing: Schema) -> int:
    described = listing.get("maxItems")
    return min(described, limits.MAX_TARGETS) if isinstance(described, int) else limits.MAX_TARGETS
