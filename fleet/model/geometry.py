"""Places on a plan: points, outlines and the pose of a unit.

The plan frame is x to the right, y up, in millimetres, one frame for each floor. A heading is
counter-clockwise from plan x to the direction that the unit faces (its y, away); the unit's x lies to
its right, which is away turned clockwise. A unit fixed upside-down has its x flipped.
"""

from dataclasses import dataclass, replace

Point = tuple[int, int]
"""x, y in mm."""

Outline = tuple[Point, ...]
"""The corners of a simple polygon in mm, in order, the first not repeated at the end."""


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a unit is fixed and which way it looks.

    Attributes:
        x_mm: plan x of the unit.
        y_mm: plan y of the unit.
        heading_mdeg: counter-clockwise from plan x to the unit's away direction, millidegrees.
        upside_down: the unit hangs upside-down, which flips its x.
        height_mm: height above the floor.
    """

    x_mm: int
    y_mm: int
    heading_mdeg: int
    upside_down: bool = False
    height_mm: int = 2000

    def mirrored(self) -> "Pose":
        """Return the same pose with the unit turned over."""
        return replace(self, upside_down=not self.upside_down)


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece of wall, door or mirror between two points on a plan, in mm."""

    start_mm: Point
    end_mm: Point
