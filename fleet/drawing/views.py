"""How far and how wide a unit sees: from what it says of itself, else from its module type."""

import math
from typing import TypeGuard

import numpy as np
import shapely

from fleet.drawing.primitives import Fill, Polygon, Polyline, Role, Shape, Spot, Stroke
from fleet.drawing.walls import floor_shape, polygons_in, ring
from fleet.model.geometry import Outline, Pose
from fleet.model.house import ModuleType
from fleet.model.units import Unit
from fleet.numerics.frames import to_plan

_BY_TYPE: dict[ModuleType, tuple[int, int]] = {
    ModuleType.TRACKING: (7000, 55_000),
    ModuleType.STATIC: (9000, 45_000),
    ModuleType.VITAL: (2000, 45_000),
}
"""Range in mm and half the field of view in millidegrees, where a unit doesn't say."""

MDEG_PER_DEG = 1000
ARC_EVERY_DEG = 3
WIDEST_HALF_DEG = 180


def view_of(unit: Unit) -> tuple[int, int]:
    """Return a unit's range in mm and half its field of view in millidegrees."""
    range_mm, half_mdeg = _BY_TYPE[unit.line.module_type]
    said = unit.found.capabilities if unit.found else {}
    reach, width = said.get("max_range_mm"), said.get("horizontal_field_of_view_deg")
    if _is_figure(reach) and 0 < reach < math.inf:
        range_mm = max(1, round(reach))
    if _is_figure(width) and 0 < width <= 2 * WIDEST_HALF_DEG:
        half_mdeg = max(1, round(width * MDEG_PER_DEG / 2))
    return range_mm, half_mdeg


def _is_figure(said: object) -> TypeGuard[float]:
    """Return whether a capability is a number; Python counts true and false among them."""
    return isinstance(said, int | float) and not isinstance(said, bool)


def arc_in_view(range_mm: float, half_mdeg: int) -> tuple[Spot, ...]:
    """Return an arc at a range across the field of view, in the unit's own view, left to right."""
    half = half_mdeg / MDEG_PER_DEG
    pieces = max(2, math.ceil(2 * half / ARC_EVERY_DEG))
    turns = [math.radians(-half + 2 * half * at / pieces) for at in range(pieces + 1)]
    return tuple((range_mm * math.sin(turn), range_mm * math.cos(turn)) for turn in turns)


def wedge_in_view(range_mm: float, half_mdeg: int) -> tuple[Spot, ...]:
    """Return the corners of the field of view, in the unit's own view."""
    return ((0.0, 0.0), *arc_in_view(range_mm, half_mdeg))


def on_plan(points_mm: tuple[Spot, ...] | Outline, pose: Pose) -> tuple[Spot, ...]:
    """Return points of a unit's own view on the plan."""
    carried = to_plan(np.array(points_mm, dtype=np.float64), pose)
    return tuple((float(x), float(y)) for x, y in carried)


def draw_view(unit: Unit, outline_mm: Outline) -> list[Shape]:
    """Return a unit's field of view on the floor of its room, tinted and dashed."""
    wedge = shapely.Polygon(on_plan(wedge_in_view(*view_of(unit)), unit.line.pose))
    seen = shapely.make_valid(wedge).intersection(floor_shape(outline_mm))
    return [
        Polygon(ring(part.exterior.coords), Role.VIEW, Fill.VIEW, Stroke.DASHED)
        for part in polygons_in(seen)
    ]


def range_arc(unit: Unit, range_mm: float) -> Polyline:
    """Return the arc on the plan where somebody at a distance from a unit may be."""
    arc = arc_in_view(range_mm, view_of(unit)[1])
    return Polyline(on_plan(arc, unit.line.pose), Role.UNIT, Stroke.EDGE)
