"""Walls drawn heavy outside the inner faces, open at the doors, and the doors' swings."""

import math
from collections.abc import Iterable, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from fleet.drawing.primitives import Fill, Polygon, Polyline, Role, Shape, Spot, Stroke
from fleet.model.geometry import Outline, Segment
from fleet.model.house import Room

WALL_MM = 120
WIDEST_LEAF_MM = 1200
"""A wider door is lifted or slides; it gets a dashed line and no swing."""
SAME_DOOR_MM = 300
QUARTER_PIECES = 12


def floor_shape(outline_mm: Outline) -> BaseGeometry:
    """Return the floor that an outline encloses, crossed outlines mended."""
    return shapely.make_valid(shapely.Polygon(outline_mm))


def draw_walls(rooms: Sequence[Room]) -> list[Shape]:
    """Return the walls of rooms that stand beside one another, as solid pieces."""
    floors = [floor_shape(room.outline_mm) for room in rooms]
    outer = [shapely.buffer(floor, WALL_MM, join_style="mitre") for floor in floors]
    doors = [_opening(door) for room in rooms for door in room.doors]
    walls = shapely.union_all(outer).difference(shapely.union_all([*floors, *doors]))
    return [piece for part in polygons_in(walls) for piece in _wall(part)]


def polygons_in(shape: BaseGeometry) -> list[shapely.Polygon]:
    """Return the polygons that a geometry consists of, slivers and lines left out."""
    parts = shapely.get_parts(shape, return_index=False)
    found: list[shapely.Polygon] = []
    for part in parts:
        if isinstance(part, shapely.Polygon):
            found.append(part)
        elif isinstance(part, shapely.MultiPolygon | shapely.GeometryCollection):
            found.extend(polygons_in(part))
    return [part for part in found if part.area > 1]


def ring(coordinates: Iterable[tuple[float, ...]]) -> tuple[Spot, ...]:
    """Return a closed ring's corners, the first not repeated."""
    spots = tuple((float(x), float(y)) for x, y, *_ in coordinates)
    return spots[:-1]


def _wall(part: shapely.Polygon) -> list[Shape]:
    holes = tuple(ring(hole.coords) for hole in part.interiors)
    return [Polygon(ring(part.exterior.coords), Role.WALL, Fill.SOLID, Stroke.NONE, holes)]


def _opening(door: Segment) -> BaseGeometry:
    """Return the gap of a door: through one wall on whichever side of its inner face it lies."""
    line = shapely.LineString([door.start_mm, door.end_mm])
    return shapely.buffer(line, WALL_MM + 1, cap_style="flat")


def draw_doors(rooms: Sequence[Room]) -> list[Shape]:
    """Return each door's leaf and swing once, though both rooms that it joins name it."""
    shapes: list[Shape] = []
    seen: list[Spot] = []
    for room in rooms:
        for door in room.doors:
            middle = _middle(door)
            if all(math.dist(middle, other) > SAME_DOOR_MM for other in seen):
                shapes.extend(_door(door, room))
            seen.append(middle)
    return shapes


def _middle(door: Segment) -> Spot:
    (x0, y0), (x1, y1) = door.start_mm, door.end_mm
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _door(door: Segment, room: Room) -> list[Shape]:
    width_mm = math.dist(door.start_mm, door.end_mm)
    if width_mm > WIDEST_LEAF_MM or width_mm == 0:
        return [Polyline((door.start_mm, door.end_mm), Role.DOOR, Stroke.DASHED)]
    swing = _swing(door, _inwards(door, room))
    return [
        Polyline((door.start_mm, swing[0]), Role.DOOR, Stroke.THIN),
        Polyline(swing, Role.DOOR, Stroke.DASHED),
    ]


def _inwards(door: Segment, room: Room) -> Spot:
    """Return the door's width as a vector at right angles to it, into the room."""
    (x0, y0), (x1, y1) = door.start_mm, door.end_mm
    left = (float(y0 - y1), float(x1 - x0))
    mx, my = _middle(door)
    probe = shapely.Point(mx + left[0] / 10, my + left[1] / 10)
    return left if floor_shape(room.outline_mm).contains(probe) else (-left[0], -left[1])


def _swing(door: Segment, inwards: Spot) -> tuple[Spot, ...]:
    """Return the quarter circle from the open leaf's edge to where it shuts."""
    (x0, y0), (x1, y1) = door.start_mm, door.end_mm
    along = (x1 - x0, y1 - y0)
    turns = [math.pi / 2 * at / QUARTER_PIECES for at in range(QUARTER_PIECES + 1)]
    return tuple(
        (
            x0 + inwards[0] * math.cos(turn) + along[0] * math.sin(turn),
            y0 + inwards[1] * math.cos(turn) + along[1] * math.sin(turn),
        )
        for turn in turns
    )
