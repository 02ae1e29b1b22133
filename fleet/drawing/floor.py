"""A floor as a trade drawing: all its rooms with their names, and where the units are."""

from collections.abc import Collection, Sequence

import shapely

from fleet.drawing.areas import draw_area
from fleet.drawing.dimensions import OFFSET_MM, dimension, draw_scale_bar
from fleet.drawing.marks import draw_marks
from fleet.drawing.primitives import Box, Drawing, Role, Shape, Size, Spot, Text, grown
from fleet.drawing.room import words_last
from fleet.drawing.unit_marks import draw_unit
from fleet.drawing.walls import draw_doors, draw_walls, floor_shape
from fleet.model.house import HousePlan, Room
from fleet.model.units import Unit
from fleet.numerics.outlines import bounds_mm

EMPTY_BOX: Box = (0.0, 0.0, 5000.0, 4000.0)
"""What is shown of a floor without rooms."""
SQUARE_MM_PER_M2 = 1_000_000


def draw_floor(
    plan: HousePlan, floor: str, units: Sequence[Unit], *, look: Collection[str] = ()
) -> Drawing:
    """Draw a floor.

    Args:
        plan: the property.
        floor: key of the floor.
        units: the property's units; those of other floors are left out.
        look: labels of units that need a look.
    """
    name = next((level.name for level in plan.floors if level.key == floor), floor)
    rooms = [room for room in plan.rooms if room.floor == floor]
    if not rooms:
        return Drawing(name, (), EMPTY_BOX)
    shapes: list[Shape] = []
    for room in rooms:
        shapes += draw_marks(room, labelled=False)
    for unit in _in(rooms, units):
        doors = next(room.doors for room in rooms if room.key == unit.line.room)
        for area in unit.line.areas:
            shapes += draw_area(area, doors, labelled=False)
    shapes += [*draw_walls(rooms), *draw_doors(rooms), *_overall(rooms)]
    for room in rooms:
        shapes += _name(room)
    for unit in _in(rooms, units):
        shapes += draw_unit(unit, look=unit.line.label in look, inside=True)
    box = grown(_bounds(rooms), OFFSET_MM * 2)
    bar = draw_scale_bar((box[0], box[1] + OFFSET_MM * 0.6, box[2] - OFFSET_MM * 2, box[3]))
    return Drawing(name, words_last([*shapes, *bar]), box)


def _in(rooms: Sequence[Room], units: Sequence[Unit]) -> list[Unit]:
    keys = {room.key for room in rooms}
    return [unit for unit in units if unit.line.room in keys]


def _bounds(rooms: Sequence[Room]) -> Box:
    boxes = [bounds_mm(room.outline_mm) for room in rooms]
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _overall(rooms: Sequence[Room]) -> list[Shape]:
    x0, y0, x1, y1 = _bounds(rooms)
    above = dimension((x0, y1), (x1, y1), (0.0, OFFSET_MM * 1.2))
    return above + dimension((x0, y0), (x0, y1), (-OFFSET_MM * 1.2, 0.0))


def _name(room: Room) -> list[Shape]:
    spot = _name_spot(room)
    shape = floor_shape(room.outline_mm)
    size = f"{shape.area / SQUARE_MM_PER_M2:.1f} m²"
    return [
        Text(spot, room.name, Role.TITLE, size=Size.LABEL, strong=True, boxed=True, line=-0.6),
        Text(spot, size, Role.DIMENSION, size=Size.SMALL, boxed=True, line=0.7),
    ]


def _name_spot(room: Room) -> Spot:
    """Return the room's middle, or a place well inside where an L or U has its middle outside."""
    shape = floor_shape(room.outline_mm)
    middle = shape.centroid
    inside = middle if shape.contains(middle) else shapely.point_on_surface(shape)
    return (float(inside.x), float(inside.y))
