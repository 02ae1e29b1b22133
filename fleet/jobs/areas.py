"""Areas between the plan and a unit's own view.

A module holds rectangles along its own axes. An outline of the plan is carried into the unit's view and
the smallest rectangle around it is taken: exact where the unit looks along the walls; elsewhere a wider
area than was drawn, which the figure of its spill shows.
"""

import numpy as np

from fleet.model.geometry import Outline, Pose
from fleet.model.sheets import Area
from fleet.numerics.frames import to_plan, to_sensor
from fleet.numerics.outlines import spill_mm


def area_in_view(area: Area, pose: Pose) -> Area:
    """Return an area of the plan as the rectangle that the unit at `pose` is to hold, mm."""
    corners = to_sensor(np.array(area.outline_mm, dtype=np.float64), pose)
    low, high = corners.min(axis=0).round().astype(int), corners.max(axis=0).round().astype(int)
    return Area(
        area.key,
        area.label,
        area.kind,
        rectangle((int(low[0]), int(low[1])), (int(high[0]), int(high[1]))),
    )


def rectangle(low: tuple[int, int], high: tuple[int, int]) -> Outline:
    """Return the corners of a rectangle in the one order that sheets keep: counter-clockwise from low."""
    return (low, (high[0], low[1]), high, (low[0], high[1]))


def outline_on_plan(outline_mm: Outline, pose: Pose) -> Outline:
    """Return an outline of a unit's view on the plan, mm."""
    corners = to_plan(np.array(outline_mm, dtype=np.float64), pose)
    return tuple((round(float(x)), round(float(y))) for x, y in corners)


def past_wall_mm(area: Area, pose: Pose, room: Outline) -> int:
    """Return how far an area held by the unit at `pose` reaches beyond the room's walls, mm."""
    return round(spill_mm(outline_on_plan(area.outline_mm, pose), room))
