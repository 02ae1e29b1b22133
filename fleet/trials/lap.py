"""The lap: one person walks every room alone, a minute each, doors shut.

It proves which unit hangs where, who sees through a wall, and which way up a unit is; it doesn't prove
detection. The truth is the prompted route: the person stands still at marked points for a few seconds
each, at times that the program sets, so nothing rests on the units under test.

Theory of operation:

1. `lap_route` draws a room's outline in by half a metre and has the person stand at its corners in turn.
2. While the person is there, every unit of the house is recorded (`UnitWindow`), not only the room's.
3. The share of a unit's reports that show somebody, room by room, is the room × unit matrix. A unit hangs
   where it sees most, if that is clearly more than anywhere else.
4. Where a unit reports places, the points of each stand against the marked points give its pose, once as
   planned and once turned over.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.geometry import Outline, Point
from fleet.numerics.outlines import inset, signed_area_mm2

ROOM_S = 60.0
WALK_MM_S = 1200.0  # NEMA WD 7-2011, second-hand: 4 ft/s
STAND_S = 5.0
INSETS_MM = (500, 350, 250)
EDGE_S = 2.0
"""At both ends of a room's minute nothing is counted: the person may still be at the door."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A marked point and when the person stands there, seconds since the room's minute began."""

    at_mm: Point
    from_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class UnitWindow:
    """What one unit reported during one room's minute.

    Attributes:
        report_s: (n,) when each report came, seconds since the minute began.
        seen: (n,) whether it showed anybody.
        point_s: (m,) the time of each target that came with a place.
        points_mm: (m, 2) those places in the unit's own view.
    """

    report_s: NDArray[np.float64]
    seen: NDArray[np.bool_]
    point_s: NDArray[np.float64]
    points_mm: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RoomWalk:
    """One room's minute: the route that was walked and what every unit reported, by serial."""

    room: str
    stands: tuple[Stand, ...]
    windows: Mapping[str, UnitWindow]


def lap_route(outline_mm: Outline) -> tuple[Stand, ...]:
    """Lay out a room's minute: stands at the corners of the outline drawn in, round and round.

    Args:
        outline_mm: the room, mm on its floor's plan.

    Returns:
        Stands in order; the person walks straight on from one to the next at 1.2 m/s.
    """
    corners = _corners(outline_mm)
    stands: list[Stand] = []
    at_s = 0.0
    while True:
        corner = corners[len(stands) % len(corners)]
        if stands:
            at_s += _walk_s(stands[-1].at_mm, corner)
        if at_s + STAND_S > ROOM_S:
            return tuple(stands)
        stands.append(Stand(corner, at_s, at_s + STAND_S))
        at_s += STAND_S


def shares(walks: Sequence[RoomWalk]) -> Mapping[str, Mapping[str, float]]:
    """Return the room × unit matrix: room → serial → share of its reports that showed somebody."""
    return {
        walk.room: {serial: _share(window) for serial, window in walk.windows.items()}
        for walk in walks
    }


def points_at_stands(walk: RoomWalk, serial: str) -> list[tuple[Point, NDArray[np.float64]]]:
    """Return each marked point with the (k, 2) places that the unit reported while it was stood on.

    The first and last moments of a stand are left out: the person is still settling, and a report takes a
    moment to arrive.
    """
    window = walk.windows[serial]
    gathered: dict[Point, list[NDArray[np.float64]]] = {}
    for stand in walk.stands:
        during = (window.point_s >= stand.from_s + 1.0) & (window.point_s <= stand.until_s - 0.5)
        gathered.setdefault(stand.at_mm, []).append(window.points_mm[during])
    return [(at_mm, np.concatenate(parts)) for at_mm, parts in gathered.items()]


def _corners(outline_mm: Outline) -> Outline:
    for by_mm in INSETS_MM:
        loop = inset(outline_mm, by_mm)
        if loop:
            return loop if signed_area_mm2(loop) > 0 else loop[::-1]
    return outline_mm


def _walk_s(start: Point, end: Point) -> float:
    return float(np.hypot(end[0] - start[0], end[1] - start[1])) / WALK_MM_S


def _share(window: UnitWindow) -> float:
    counted = (window.report_s >= EDGE_S) & (window.report_s <= ROOM_S - EDGE_S)
    return float(window.seen[counted].mean()) if counted.any() else 0.0
