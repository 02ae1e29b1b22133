"""Outlines on a plan: which way round, which points are in, and how far an area spills.

The edge of an outline belongs to it. An outline that crosses itself (a unit may hold one) is taken
as the floor that it encloses. `()` is the outline of nothing: it is what `inset` leaves of a room
that is too narrow; nothing is inside it and nothing meets it. Where a distance to an outline is
asked for, it needs three corners or more.
"""

import math
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from fleet.model.errors import PlanError
from fleet.model.geometry import Outline

FEWEST_CORNERS = 3
SPILL_RESOLUTION_MM = 0.5
ARC_PIECES = 64
"""Chords for each quarter of a circle."""
CHORD_ALLOWANCE = 1 / math.cos(math.pi / 4 / ARC_PIECES)
"""So much farther, the chords touch the circle from outside: 0.5 mm at 6.6 m."""


def _shape(outline: Outline) -> BaseGeometry:
    """Return the floor that an outline encloses."""
    if len(outline) < FEWEST_CORNERS:
        raise PlanError(
            f"An outline has {len(outline)} corners, where it takes at least three.",
            stands="Nothing was computed with it.",
            next_step="Draw it again.",
        )
    polygon = shapely.Polygon(outline)
    return polygon if polygon.is_valid else shapely.make_valid(polygon)


def signed_area_mm2(outline: Outline) -> float:
    """Return the area in mm², positive when the corners run counter-clockwise."""
    following = outline[1:] + outline[:1]
    pairs = zip(outline, following, strict=True)
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs) / 2


def is_simple(outline: Outline) -> bool:
    """Return whether the outline encloses floor and neither crosses nor touches itself."""
    return len(outline) >= FEWEST_CORNERS and bool(shapely.Polygon(outline).is_valid)


def inside(points_mm: NDArray[np.float64], outline: Outline) -> NDArray[np.bool_]:
    """Return (n,) which of the (n, 2) plan points in mm lie in the outline or on its edge.

    Raises:
        PlanError: the outline has one or two corners.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
    if not outline:
        return np.zeros(len(points), dtype=np.bool_)
    shape = _shape(outline)
    shapely.prepare(shape)
    return np.asarray(shapely.intersects_xy(shape, points[:, 0], points[:, 1]), dtype=np.bool_)


def distance_outside_mm(points_mm: NDArray[np.float64], outline: Outline) -> NDArray[np.float64]:
    """Return (n,) how far in mm the (n, 2) plan points lie outside the outline; 0 for those inside.

    Raises:
        PlanError: the outline has fewer than three corners.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
    shape = _shape(outline)
    shapely.prepare(shape)
    return np.asarray(shapely.distance(shape, shapely.points(points)), dtype=np.float64)


def spill_mm(area: Outline, room: Outline) -> float:
    """Return the greatest distance in mm that any part of the area lies outside the room.

    The farthest part is usually a corner of what sticks out, and then the figure is exact. Where an
    area covers the notch of an L or U of a room it can lie between corners; then the room is grown
    until it holds the area, to half a millimetre.

    Raises:
        PlanError: the area or the room has fewer than three corners.
    """
    floor, area_shape = _shape(room), _shape(area)
    outside = area_shape.difference(floor)
    if outside.is_empty:
        return 0.0
    corners = shapely.points(shapely.get_coordinates(outside))
    least = float(shapely.distance(floor, corners).max())
    if _holds(floor, outside, least + SPILL_RESOLUTION_MM):
        return least
    most = least + float(np.hypot(*np.ptp(shapely.get_coordinates(outside), axis=0)))
    while most - least > SPILL_RESOLUTION_MM:
        middle = (least + most) / 2
        least, most = (least, middle) if _holds(floor, outside, middle) else (middle, most)
    return most


def _holds(floor: BaseGeometry, outside: BaseGeometry, grown_by_mm: float) -> bool:
    """Return whether the floor grown by a distance covers what sticks out of it."""
    grown = shapely.buffer(floor, grown_by_mm * CHORD_ALLOWANCE, quad_segs=ARC_PIECES)
    return bool(outside.difference(grown).is_empty)


def inset(outline: Outline, by_mm: float) -> Outline:
    """Return the outline drawn in from every wall, for a loop that a person can walk.

    Args:
        outline: corners in mm.
        by_mm: distance from the walls.

    Returns:
        The largest piece that is left, counter-clockwise, in whole mm; () when nothing is left.

    Raises:
        PlanError: the outline has fewer than three corners.
    """
    left = shapely.buffer(_shape(outline), -by_mm, join_style="mitre")
    pieces = [part for part in shapely.get_parts(left) if isinstance(part, shapely.Polygon)]
    largest = max(pieces, key=lambda piece: piece.area, default=None)
    if largest is None or largest.is_empty:
        return ()
    # The mitres of two door posts leave corners in the middle of a straight side.
    straight = orient(largest).exterior.simplify(0)
    corners = [(round(x), round(y)) for x, y in straight.coords]
    kept = tuple(a for a, b in pairwise(corners) if a != b)
    return kept if is_simple(kept) else ()


def intersects(a: Outline, b: Outline) -> bool:
    """Return whether two outlines share a point, edges included.

    Raises:
        PlanError: one of them has one or two corners.
    """
    return bool(a and b) and bool(_shape(a).intersects(_shape(b)))


def bounds_mm(outline: Outline) -> tuple[int, int, int, int]:
    """Return the least x and y and the greatest x and y in mm.

    Raises:
        PlanError: the outline has no corners.
    """
    if not outline:
        raise PlanError(
            "An outline has no corners, so it has no bounds.",
            stands="Nothing was computed with it.",
            next_step="Draw it again.",
        )
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return min(xs), min(ys), max(xs), max(ys)
