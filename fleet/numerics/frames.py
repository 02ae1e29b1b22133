"""Between a unit's own frame and the plan.

The unit reports x to its right and y away from it; its heading is counter-clockwise from plan x to
its away direction, and its right is away turned clockwise. Upside-down, its right becomes its left.
So a reported (x, y) lies at the unit's place + x · right + y · away, and the way back is two
dot products, because right and away are perpendicular and of length one.
"""

import numpy as np
from numpy.typing import NDArray

from fleet.model.geometry import Pose

MDEG_PER_DEGREE = 1000


def _axes(pose: Pose) -> NDArray[np.float64]:
    """Return the unit's right and away directions in the plan as the rows of a (2, 2) array."""
    heading = np.deg2rad(pose.heading_mdeg / MDEG_PER_DEGREE)
    cos, sin = np.cos(heading), np.sin(heading)
    side = -1.0 if pose.upside_down else 1.0
    return np.array([[side * sin, -side * cos], [cos, sin]])


def to_plan(points_mm: NDArray[np.float64], pose: Pose) -> NDArray[np.float64]:
    """Carry points from the unit's frame to the plan.

    Args:
        points_mm: (n, 2) x, y as the unit reports them, in mm.
        pose: where the unit is fixed and which way it looks.

    Returns:
        (n, 2) plan x, y in mm.
    """
    place = np.array([pose.x_mm, pose.y_mm], dtype=np.float64)
    return np.asarray(points_mm, dtype=np.float64).reshape(-1, 2) @ _axes(pose) + place


def to_sensor(points_mm: NDArray[np.float64], pose: Pose) -> NDArray[np.float64]:
    """Carry points from the plan to the unit's frame; undoes `to_plan`.

    Args:
        points_mm: (n, 2) plan x, y in mm.
        pose: where the unit is fixed and which way it looks.

    Returns:
        (n, 2) x, y in mm as the unit would report them.
    """
    place = np.array([pose.x_mm, pose.y_mm], dtype=np.float64)
    return (np.asarray(points_mm, dtype=np.float64).reshape(-1, 2) - place) @ _axes(pose).T


def floor_distance_mm(
    range_mm: NDArray[np.float64], height_difference_mm: float
) -> NDArray[np.float64]:
    """Return the distance along the floor that belongs to a slant range.

    Args:
        range_mm: (n,) distances from the unit as it reports them, in mm.
        height_difference_mm: how far the unit hangs above (or below) what it sees, in mm.

    Returns:
        (n,) √(R² − Δh²) in mm; 0 where the range is shorter than the height difference.
    """
    slant = np.asarray(range_mm, dtype=np.float64)
    floor: NDArray[np.float64] = np.sqrt(np.maximum(slant**2 - height_difference_mm**2, 0.0))
    return floor


def to_floor(
    points_mm: NDArray[np.float64], height_difference_mm: float, near_side_mm: float = 0.0
) -> NDArray[np.float64]:
    """Move measured points along their line of sight to where the body stands on the floor.

    Args:
        points_mm: (n, 2) in the unit's frame; their distance is slant, to the near side of the body.
        height_difference_mm: height of the unit above what reflects.
        near_side_mm: how much of the body lies behind what reflects.

    Returns:
        (n, 2) in the unit's frame, distances along the floor.
    """
    slant_mm = np.hypot(points_mm[:, 0], points_mm[:, 1])
    floor_mm = floor_distance_mm(slant_mm + near_side_mm, height_difference_mm)
    scale = np.divide(floor_mm, slant_mm, out=np.ones_like(slant_mm), where=slant_mm > 0)
    return points_mm * scale[:, None]
