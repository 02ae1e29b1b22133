"""The lap: one person walks every room alone, a minute each, doors shut.

It proves which unit hangs where, who sees through a wall, and which way up a unit is; it doesn't prove
detection. The truth is the prompted route: the person stands still at marked points for a few seconds
each, at times that the program sets, so nothing rests on the units under test.

Theory of operation:

1. `lap_route` draws a room's outline in by half a metre and has the person stand at its corners, and on the
   way along its longer sides, in turn: a unit in the middle of a wall doesn't see the corners beside it.
2. While the person is there, every unit of the house is recorded (`UnitWindow`), not only the room's.
3. The share of a unit's reports that show somebody, room by room, is the room × unit matrix. A unit hangs
   where it sees most, if that is clearly more than anywhere else.
4. Where a unit reports places, the points of each stand against the marked points give its pose, once as
   planned and once turned over.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.geometry import Outline, Point
from fleet.numerics.outlines import inset, signed_area_mm2

ROOM_S = 60.0
WALK_MM_S = 1200.0  # NEMA WD 7-2011, second-hand: 4 ft/s
STAND_S = 4.0
INSETS_MM = (500, 350, 250)
SIDES_MM = (2500, 4000, 100_000)
"""The longest way between two marks: the first that lets one round fit into the minute."""

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
    loop = _loop(outline_mm)
    rounds = [_stands(_marks(loop, side_mm)) for side_mm in SIDES_MM]
    return next((stands for stands, whole in rounds if whole), rounds[-1][0])


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


def _loop(outline_mm: Outline) -> Outline:
    for by_mm in INSETS_MM:
        loop = inset(outline_mm, by_mm)
        if loop:
            return loop if signed_area_mm2(loop) > 0 else loop[::-1]
    return outline_mm


def _marks(loop: Outline, side_mm: int) -> list[Point]:
    """Return the corners of a loop, and points that part its sides into pieces of `side_mm` at most."""
    marks: list[Point] = []
    for start, end in zip(loop, (*loop[1:], loop[0]), strict=True):
        pieces = max(1, math.ceil(math.dist(start, end) / side_mm))
        for piece in range(pieces):
            share = piece / pieces
            x_mm = start[0] + share * (end[0] - start[0])
            marks.append((round(x_mm), round(start[1] + share * (end[1] - start[1]))))
    return marks


def _stands(marks: list[Point]) -> tuple[tuple[Stand, ...], bool]:
    """Go round the marks until the minute is over; say whether one round fits into it."""
    stands: list[Stand] = []
    at_s = 0.0
    while True:
        mark = marks[len(stands) % len(marks)]
        if stands:
            at_s += math.dist(stands[-1].at_mm, mark) / WALK_MM_S
        if at_s + STAND_S > ROOM_S:
            return tuple(stands), len(stands) >= len(marks)
        stands.append(Stand(mark, at_s, at_s + STAND_S))
        at_s += STAND_S


def _share(window: UnitWindow) -> float:
    counted = (window.report_s >= EDGE_S) & (window.report_s <= ROOM_S - EDGE_S)
    return float(window.seen[counted].mean()) if counted.any() else 0.0
