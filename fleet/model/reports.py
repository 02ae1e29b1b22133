"""What a unit reports on its streams, in our integers and in the sensor frame.

x is to the right seen from the unit, y away from it, both in mm; a range is slant. A target's slot is
the unit's own and no identity: another person may have it in the next report.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Target:
    """One report of one body.

    Attributes:
        x_mm: to the right, or None from a unit that reports distance only.
        y_mm: away, or None from a unit that reports distance only.
        range_mm: the distance, or None from a unit that reports x and y.
        speed_mm_s: radial, positive is away, or None.
        slot: the unit's number for it, or None.
    """

    x_mm: int | None = None
    y_mm: int | None = None
    range_mm: int | None = None
    speed_mm_s: int | None = None
    slot: int | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """All targets at one time; an empty one says that the unit sees nobody.

    Attributes:
        sample_time_ms: the unit's own clock, ms since 1970 UTC, or None.
        number: one more than the report before, 0 after a restart, or None.
        targets: in the unit's order.
    """

    sample_time_ms: int | None
    number: int | None
    targets: tuple[Target, ...]


@dataclass(frozen=True, slots=True)
class AreaOccupied:
    """One area's state.

    Attributes:
        area_id: the unit's id of the area.
        occupied: somebody counts as present there.
        targets: how many are seen there, or None.
    """

    area_id: str
    occupied: bool
    targets: int | None = None


@dataclass(frozen=True, slots=True)
class OccupancyReport:
    """Whether somebody is there, by the unit's own judgement.

    Attributes:
        sample_time_ms: the unit's own clock, ms since 1970 UTC, or None.
        occupied: anywhere that counts.
        areas: each area's state.
    """

    sample_time_ms: int | None
    occupied: bool
    areas: tuple[AreaOccupied, ...] = ()
