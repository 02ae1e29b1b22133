"""A room as a trade drawing: walls, doors, marks, units with their views, areas, dimensions."""

from collections.abc import Collection, Sequence

from fleet.drawing.areas import draw_area, draw_found
from fleet.drawing.dimensions import OFFSET_MM, draw_dimensions, draw_scale_bar
from fleet.drawing.marks import draw_marks
from fleet.drawing.primitives import Drawing, Shape, Text, grown
from fleet.drawing.unit_marks import draw_unit
from fleet.drawing.views import draw_view
from fleet.drawing.walls import draw_doors, draw_walls
from fleet.model.house import Room
from fleet.model.units import Unit
from fleet.numerics.outlines import bounds_mm

RECTANGLE_CORNERS = 4


def draw_room(
    room: Room, units: Sequence[Unit], *, with_found: bool = True, look: Collection[str] = ()
) -> Drawing:
    """Draw a room.

    Args:
        room: which.
        units: its units; planned areas come from their lines, found ones from their readings.
        with_found: with the areas that units hold and that differ from the planned ones.
        look: labels of units that need a look.

    Returns:
        The drawing in plan mm; words lie above everything else.
    """
    said = {area.label for unit in units for area in unit.line.areas}
    shapes: list[Shape] = []
    shapes += draw_marks(room, said=said)
    for unit in units:
        shapes += draw_view(unit, room.outline_mm)
    for unit in units:
        for area in unit.line.areas:
            shapes += draw_area(area, room.doors)
    for unit in units if with_found else ():
        shapes += draw_found(unit)
    shapes += [*draw_walls([room]), *draw_doors([room]), *draw_dimensions(room.outline_mm)]
    for unit in units:
        shapes += draw_unit(unit, look=unit.line.label in look)
    return _finished(room, shapes)


def _finished(room: Room, shapes: list[Shape]) -> Drawing:
    odd = len(room.outline_mm) > RECTANGLE_CORNERS
    inner = bounds_mm(room.outline_mm)
    box = grown(inner, OFFSET_MM * (2.5 if odd else 1.5))
    bar = draw_scale_bar((box[0], box[1] + OFFSET_MM * 0.5, inner[2], box[3]))
    return Drawing(room.name, words_last([*shapes, *bar]), box)


def words_last(shapes: Sequence[Shape]) -> tuple[Shape, ...]:
    """Return shapes with the words after everything else, both in their order."""
    words = [shape for shape in shapes if isinstance(shape, Text)]
    rest = [shape for shape in shapes if not isinstance(shape, Text)]
    return (*rest, *words)
