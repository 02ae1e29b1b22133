"""What a unit can see of a floor, worked with shapely alone: another way than the program's own.

A body on its lap keeps 0.5 m from the walls; a unit sees a point within its range and half view, if
the straight line to it stays in open space.
"""

import math
from collections.abc import Iterable

import shapely
from shapely import LineString, Polygon

from fleet.model.geometry import Outline, Point, Pose
from fleet.model.house import ModuleType
from tests.houses.house import HALF_VIEW_DEG, RANGE_MM

INSET_MM = 500
STEP_MM = 50
SHORT_MM = 200


def lap_points(outline_mm: Outline) -> list[Point]:
    """Return points every 50 mm along the loop that keeps 0.5 m from the walls."""
    loop = Polygon(outline_mm).buffer(-INSET_MM, join_style="mitre").exterior
    marks = range(0, int(loop.length), STEP_MM)
    points = [loop.interpolate(along) for along in marks]
    return [(round(point.x), round(point.y)) for point in points]


def in_view(pose: Pose, kind: ModuleType, point: Point) -> bool:
    """Say whether a point lies within range and half view of a unit."""
    dx, dy = point[0] - pose.x_mm, point[1] - pose.y_mm
    off = math.degrees(math.atan2(dy, dx)) - pose.heading_mdeg / 1000
    off = (off + 180) % 360 - 180
    return math.hypot(dx, dy) <= RANGE_MM[kind] and abs(off) <= HALF_VIEW_DEG[kind]


def sees(pose: Pose, kind: ModuleType, point: Point, space: shapely.Geometry) -> bool:
    """Say whether a unit sees a point of its open space."""
    line = LineString([(pose.x_mm, pose.y_mm), point])
    return in_view(pose, kind, point) and bool(line.difference(space).length < 1)


def share_seen(
    units: Iterable[tuple[Pose, ModuleType]], points: list[Point], space: shapely.Geometry
) -> float:
    """Return the share of points that at least one of the units sees."""
    crew = list(units)
    seen = sum(any(sees(pose, kind, point, space) for pose, kind in crew) for point in points)
    return seen / len(points)


def images_seen(pose: Pose, outline_mm: Outline, glass: tuple[Point, Point]) -> list[Point]:
    """Return the images of a lap's points that a tracking unit sees in an upright mirror.

    The mirror lies along x or y; an image is seen where the straight line to it meets the glass.
    """
    (x0, y0), (x1, _) = glass
    images = [(2 * x0 - x, y) if x0 == x1 else (x, 2 * y0 - y) for x, y in lap_points(outline_mm)]
    return [
        image
        for image in images
        if in_view(pose, ModuleType.TRACKING, image)
        and LineString([(pose.x_mm, pose.y_mm), image]).intersects(LineString(glass))
    ]


def through_wall(
    one: Outline, other: Outline, least_mm: int = 1500
) -> tuple[tuple[Point, Point], shapely.Geometry] | None:
    """Return the shared wall of two rooms: its middle line and the open space if it leaks.

    The line ends 0.2 m short of the wall, so that a leak near it doesn't reach round the corners.

    None where the rooms share no wall of `least_mm`. Rooms are rectangles, walls at most 150 mm.
    """
    a, b = Polygon(one), Polygon(other)
    if not 0 < a.distance(b) <= 150:
        return None
    for axis in (0, 1):
        low = max(min(p[axis] for p in one), min(p[axis] for p in other))
        high = min(max(p[axis] for p in one), max(p[axis] for p in other))
        if high - low >= least_mm:
            return _wall(one, other, axis, (low, high))
    return None


def _wall(
    one: Outline, other: Outline, axis: int, span: tuple[int, int]
) -> tuple[tuple[Point, Point], shapely.Geometry]:
    across = 1 - axis
    near, far = sorted(
        (
            max(min(p[across] for p in one), min(p[across] for p in other)),
            min(max(p[across] for p in one), max(p[across] for p in other)),
        )
    )
    middle = (near + far) // 2

    def at(along: int, over: int) -> Point:
        return (along, over) if axis == 0 else (over, along)

    gap = Polygon([at(span[0], near), at(span[1], near), at(span[1], far), at(span[0], far)])
    space = shapely.union_all([Polygon(one), Polygon(other), gap], grid_size=1)
    return (at(span[0] + SHORT_MM, middle), at(span[1] - SHORT_MM, middle)), space
