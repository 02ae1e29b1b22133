"""A unit's own view: ahead is up, its right is to the right; arcs every metre, its areas."""

from fleet.drawing.areas import found_areas, look_of, size_words
from fleet.drawing.primitives import (
    Anchor,
    Drawing,
    Fill,
    Polygon,
    Polyline,
    Role,
    Shape,
    Size,
    Stroke,
    Text,
    grown,
)
from fleet.drawing.unit_marks import TRIANGLE_MM
from fleet.drawing.views import arc_in_view, view_of, wedge_in_view
from fleet.model.units import Unit

MM_PER_M = 1000
MARGIN_MM = 350
BEHIND_MM = 300


def draw_unit_view(unit: Unit, *, labelled: bool = True) -> Drawing:
    """Draw what a unit can see and the areas read from it, in its own view in mm."""
    range_mm, half_mdeg = view_of(unit)
    shapes: list[Shape] = [
        Polygon(wedge_in_view(range_mm, half_mdeg), Role.VIEW, Fill.VIEW, Stroke.DASHED)
    ]
    for metre in range(1, -(-range_mm // MM_PER_M)):
        arc = arc_in_view(metre * MM_PER_M, half_mdeg)
        shapes.append(Polyline(arc, Role.GRID, Stroke.THIN))
        if labelled:
            words = f"{metre} m"
            shapes.append(Text(arc[-1], words, Role.DIMENSION, Anchor.START, Size.SMALL, inset=0.5))
    shapes += _areas(unit, labelled=labelled)
    half = TRIANGLE_MM / 2
    body = ((-half, 0.0), (0.0, float(TRIANGLE_MM)), (half, 0.0))
    shapes.append(Polygon(body, Role.UNIT, Fill.PAPER, Stroke.EDGE))
    wide = max(abs(x) for x, _ in wedge_in_view(range_mm, half_mdeg))
    box = grown((-wide, float(-BEHIND_MM), wide, float(range_mm)), MARGIN_MM)
    return Drawing(unit.line.label, tuple(shapes), box)


def _areas(unit: Unit, *, labelled: bool) -> list[Shape]:
    shapes: list[Shape] = []
    for area in found_areas(unit):
        role, fill = look_of(area.kind)
        shapes.append(Polygon(area.outline_mm, role, fill, Stroke.EDGE))
        if labelled:
            spot = (
                min(x for x, _ in area.outline_mm),
                max(y for _, y in area.outline_mm),
            )
            size = f"{area.kind.value} {size_words(area.outline_mm)}"
            start = Anchor.START
            shapes += [
                Text(spot, area.label, role, start, line=0.9, inset=0.6, strong=True, boxed=True),
                Text(
                    spot, size, Role.DIMENSION, start, Size.SMALL, line=2.3, inset=0.7, boxed=True
                ),
            ]
    return shapes
