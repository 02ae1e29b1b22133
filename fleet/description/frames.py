"""Reports of a stream into values, fast, and without ever failing.

1. Which member is what is found once per unit, from the schema's types; each report then costs a JSON
   parse and a few look-ups.
2. A report is taken whole or not at all. What is out of range, of a wrong type, too long or no JSON is
   returned as a `Complaint`, never raised: one bad report must not end a stream.
3. Numbers, words, range and angle are read as `report_members` says.
4. Of a list that is put together from parts (`assembly`) entries that are null aren't there; what has no
   slot of its own has its place in the list, from 1.
5. `time`, `targets` and `areas` keep these names where the schema gives them no type of their own.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import msgspec

from fleet.description import limits
from fleet.description import vocabulary as pres
from fleet.description.documents import Json
from fleet.description.quick_reports import QuickReader, quick_reader
from fleet.description.report_members import (
    OddError,
    flag_of,
    list_with,
    name_of,
    number_of,
    x_and_y,
)
from fleet.description.schemas import Schema, members_of
from fleet.description.things import Affordance
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


class ReportReader:
    """Reads the reports of one unit's target frame."""

    def __init__(self, affordance: Affordance) -> None:
        """Find out which member is what, from the affordance's schema."""
        members = members_of(affordance.schema)
        self._time = name_of(members, pres.SAMPLE_TIME, "time")
        self._number = number_of(members, pres.REPORT_NUMBER, 0, limits.MAX_REPORT_NUMBER)
        self._targets, inner = list_with(members, (pres.SENSOR_X, pres.TARGET_RANGE), "targets")
        self._most = _most(members.get(self._targets, {}))
        place = limits.MAX_PLACE_MM
        self._x = number_of(inner, pres.SENSOR_X, -place, place)
        self._y = number_of(inner, pres.SENSOR_Y, -place, place)
        self._range = number_of(inner, pres.TARGET_RANGE, 0, place)
        self._angle = number_of(
            inner, pres.TARGET_ANGLE, -limits.MAX_ANGLE_MDEG, limits.MAX_ANGLE_MDEG
        )
        self._put_together = bool(affordance.parts)
        speed = limits.MAX_SPEED_MM_S
        self._speed = number_of(inner, pres.RADIAL_SPEED, -speed, speed)
        self._slot = number_of(inner, pres.TARGET_ID, 0, limits.MAX_REPORT_NUMBER)
        self._quick = self._quick_reader()

    def read(self, data: bytes | str) -> Report | Complaint:
        """Read one report; nonsense comes back as a complaint."""
        if self._quick is not None and len(data) <= limits.MAX_REPORT_BYTES:
            plain = self._quick(data)
            if plain is not None:
                return plain
        return self.read_with_care(data)

    def read_with_care(self, data: bytes | str) -> Report | Complaint:
        """Read one report member by member; says of a plain one what `read` says, more slowly."""
        try:
            return self._report(_decoded(data))
        except OddError as odd:
            return Complaint(str(odd))

    def _quick_reader(self) -> QuickReader | None:
        if self._put_together or self._angle.is_described:
            return None
        members = {
            "x_mm": self._x,
            "y_mm": self._y,
            "range_mm": self._range,
            "speed_mm_s": self._speed,
            "slot": self._slot,
        }
        return quick_reader(self._time, self._number, self._targets, self._most, members)

    def _report(self, held: dict[str, Json]) -> Report:
        listed = held.get(self._targets)
        if not isinstance(listed, list):
            raise OddError("targets are missing")
        if len(listed) > self._most:
            raise OddError("more targets than the unit can have")
        if self._put_together:
            targets = self._targets_in_place(listed)
        else:
            targets = tuple([self._target(entry) for entry in listed])
        return Report(_time_ms(held.get(self._time)), self._number.of(held), targets)

    def _targets_in_place(self, listed: list[Json]) -> tuple[Target, ...]:
        read = [
            (place, self._target(entry))
            for place, entry in enumerate(listed, 1)
            if entry is not None
        ]
        return tuple(
            target if target.slot is not None else replace(target, slot=place)
            for place, target in read
        )

    def _target(self, held: Json) -> Target:
        if not isinstance(held, dict):
            raise OddError("a target is no object")
        x_mm, y_mm, range_mm = self._x.of(held), self._y.of(held), self._range.of(held)
        if x_mm is None or y_mm is None:
            if range_mm is None:
                raise OddError("a target has no place")
            if self._angle.of(held) is not None:
                x_mm, y_mm = x_and_y(self._range.exactly(held), self._angle.exactly(held))
                range_mm = None
        return Target(x_mm, y_mm, range_mm, self._speed.of(held), self._slot.of(held))


class OccupancyReader:
    """Reads the reports of one unit's occupancy."""

    def __init__(self, affordance: Affordance) -> None:
        """Find out which member is what, from the affordance's schema."""
        members = members_of(affordance.schema)
        self._time = name_of(members, pres.SAMPLE_TIME, "time")
        self._any = flag_of(members, pres.ANY_OCCUPANCY, "any")
        self._areas, inner = list_with(members, (pres.AREA_OCCUPANCY, pres.AREA_ID), "areas")
        self._area_id = name_of(inner, pres.AREA_ID, "id")
        self._occupied = flag_of(inner, pres.AREA_OCCUPANCY, "occupied")
        self._count = number_of(inner, pres.TARGET_COUNT, 0, limits.MAX_TARGETS)

    def read(self, data: bytes | str) -> OccupancyReport | Complaint:
        """Read one report; nonsense comes back as a complaint."""
        try:
            return self._report(_decoded(data))
        except OddError as odd:
            return Complaint(str(odd))

    def _report(self, held: dict[str, Json]) -> OccupancyReport:
        listed = held.get(self._areas, [])
        if not isinstance(listed, list) or len(listed) > limits.MAX_AREAS:
            raise OddError("areas are no list of a likely length")
        occupied = self._any.of(held, "occupancy")
        areas = tuple(self._area(entry) for entry in listed)
        return OccupancyReport(_time_ms(held.get(self._time)), occupied, areas)

    def _area(self, held: Json) -> AreaOccupied:
        if not isinstance(held, dict):
            raise OddError("an area is no object")
        area_id = held.get(self._area_id)
        if not isinstance(area_id, str):
            raise OddError("an area has no id")
        occupied = self._occupied.of(held, "an area's occupancy")
        return AreaOccupied(area_id, occupied, self._count.of(held))


def _decoded(data: bytes | str) -> dict[str, Json]:
    if len(data) > limits.MAX_REPORT_BYTES:
        raise OddError("too long")
    try:
        held = msgspec.json.decode(data)
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        raise OddError("no JSON") from None
    if not isinstance(held, dict):
        raise OddError("no JSON object")
    return held


def _time_ms(value: Json) -> int | None:
    if value is None:
        return None
    try:
        return (from_rfc3339(str(value)) - _EPOCH) // _MILLISECOND
    except (ValueError, OverflowError):
        raise OddError("the sample time is no time") from None


def _most(listing: Schema) -> int:
    described = listing.get("maxItems")
    return min(described, limits.MAX_TARGETS) if isinstance(described, int) else limits.MAX_TARGETS
