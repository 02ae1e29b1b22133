"""The simulator's own plane geometry: a unit's view of a plan, walls in the way, mirror images.

Plain floats in mm on the floor's plan frame. It is written apart from the program's own transforms on
purpose; both are held to one example worked by hand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fleet.model.geometry import Outline, Pose, Segment

Line = tuple[float, float, float, float]
"""x, y of a start and x, y of an end, mm."""

NUDGE_MM = 30.0
OPENING_REACH_MM = 200.0
"""A door or a leak works on every wall face this near to it: a wall has two faces."""

BLOCKED = -2
CLEAR = -1


@dataclass(frozen=True, slots=True)
class View:
    """A unit's place and axes: away is (away_x, away_y), its right (right_x, right_y)."""

    x: float
    y: float
    away_x: float
    away_y: float
    right_x: float
    right_y: float
    height: float


def view_of(pose: Pose) -> View:
    """Return the axes of a pose; right is away turned clockwise, or the other way upside-down."""
    heading = math.radians(pose.heading_mdeg / 1000)
    cos, sin = math.cos(heading), math.sin(heading)
    side = -1.0 if pose.upside_down else 1.0
    return View(pose.x_mm, pose.y_mm, cos, sin, side * sin, -side * cos, pose.height_mm)


def seen_from(view: View, x: float, y: float) -> tuple[float, float]:
    """Return a plan point as (right, away) of a unit, mm."""
    dx, dy = x - view.x, y - view.y
    return dx * view.right_x + dy * view.right_y, dx * view.away_x + dy * view.away_y


def line_of(segment: Segment) -> Line:
    """Return a segment as four floats."""
    return (*segment.start_mm, *segment.end_mm)


def edges_of(outline: Outline) -> tuple[Line, ...]:
    """Return the walls of an outline."""
    return tuple((*start, *end) for start, end in pairwise((*outline, outline[0])))


def distance_to(line: Line, x: float, y: float) -> float:
    """Return how far a point lies from a line piece, mm."""
    ax, ay, bx, by = line
    dx, dy = bx - ax, by - ay
    along = ((x - ax) * dx + (y - ay) * dy) / ((dx * dx + dy * dy) or 1.0)
    along = min(1.0, max(0.0, along))
    return math.hypot(ax + along * dx - x, ay + along * dy - y)


def image_in(line: Line, x: float, y: float) -> tuple[float, float]:
    """Return the mirror image of a point in the line through a piece."""
    ax, ay, bx, by = line
    dx, dy = bx - ax, by - ay
    along = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy)
    return 2 * (ax + along * dx) - x, 2 * (ay + along * dy) - y


def crossing(line: Line, ox: float, oy: float, tx: float, ty: float) -> float | None:
    """Return where on the way from o to t (0 to 1) a line piece is crossed, None if it isn't."""
    ax, ay, bx, by = line
    dx, dy = tx - ox, ty - oy
    if (dx * (ay - oy) - dy * (ax - ox) > 0) == (dx * (by - oy) - dy * (bx - ox) > 0):
        return None
    ex, ey = bx - ax, by - ay
    from_side = ex * (oy - ay) - ey * (ox - ax)
    to_side = ex * (ty - ay) - ey * (tx - ax)
    if (from_side > 0) == (to_side > 0):
        return None
    return from_side / (from_side - to_side)


def way_between(
    start: tuple[float, float],
    end: tuple[float, float],
    walls: Sequence[Line],
    openings: Sequence[Line],
    leaks: Sequence[Line],
) -> int:
    """Say what lies between two points: BLOCKED, CLEAR, or the index of the leak it goes through."""
    ox, oy = start
    tx, ty = end
    dx, dy = tx - ox, ty - oy
    through = CLEAR
    for wall in walls:  # the first half of `crossing`, written out: most walls end here
        ax, ay, bx, by = wall
        if (dx * (ay - oy) - dy * (ax - ox) > 0) == (dx * (by - oy) - dy * (bx - ox) > 0):
            continue
        at = crossing(wall, ox, oy, tx, ty)
        if at is None:
            continue
        x, y = ox + at * dx, oy + at * dy
        if any(distance_to(opening, x, y) <= OPENING_REACH_MM for opening in openings):
            continue
        leak = next(
            (i for i, w in enumerate(leaks) if distance_to(w, x, y) <= OPENING_REACH_MM), -1
        )
        if leak < 0:
            return BLOCKED
        through = leak
    return through


def pulled_inside(outline: Outline, x: float, y: float) -> tuple[float, float]:
    """Return a point that hangs on a wall, pulled NUDGE_MM into its room, so the wall isn't before it.

    A point farther than that outside is left where it is.
    """
    turn = 1.0 if _doubled_area(outline) > 0 else -1.0
    for ax, ay, bx, by in edges_of(outline):
        length = math.hypot(bx - ax, by - ay) or 1.0
        inward_x, inward_y = -turn * (by - ay) / length, turn * (bx - ax) / length
        depth = (x - ax) * inward_x + (y - ay) * inward_y
        near = distance_to((ax, ay, bx, by), x, y) < NUDGE_MM
        if near and depth < NUDGE_MM:
            x, y = x + (NUDGE_MM - depth) * inward_x, y + (NUDGE_MM - depth) * inward_y
    return x, y


def _doubled_area(outline: Outline) -> float:
    corners = pairwise((*outline, outline[0]))
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in corners)
