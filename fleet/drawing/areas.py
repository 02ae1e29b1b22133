"""Areas hatched by kind with their name and size, and found ones that differ, dotted."""

import math
from collections.abc import Sequence

from fleet.drawing.primitives import (
    Anchor,
    Fill,
    Polygon,
    Polyline,
    Role,
    Shape,
    Size,
    Spot,
    Stroke,
    Text,
)
from fleet.drawing.views import on_plan
from fleet.model.errors import PlanError
from fleet.model.geometry import Outline, Segment
from fleet.model.sheets import AREA_COORDINATE_TOLERANCE_MM, Area, AreaKind, areas_of
from fleet.model.units import Unit
from fleet.numerics.outlines import bounds_mm

_LOOK = {
    AreaKind.WATCH: (Role.WATCH, Fill.WATCH),
    AreaKind.IGNORE: (Role.IGNORE, Fill.IGNORE),
    AreaKind.DOORWAY: (Role.DOORWAY, Fill.DOORWAY),
}
FEWEST_CORNERS = 3
ARROWS = 3
ARROW_SHARE = 0.3
ARROWS_FROM_TOP = 0.6
"""Below the middle, since the name stands above."""
HEAD_SHARE = 0.3
HEAD_MM = 90


def look_of(kind: AreaKind) -> tuple[Role, Fill]:
    """Return the role and the hatching of a kind of area."""
    return _LOOK[kind]


def draw_area(area: Area, doors: Sequence[Segment] = (), *, labelled: bool = True) -> list[Shape]:
    """Return an area of the plan; a doorway's arrows point to the nearest door."""
    if len(area.outline_mm) < FEWEST_CORNERS:
        return []
    role, fill = _LOOK[area.kind]
    shapes: list[Shape] = [Polygon(area.outline_mm, role, fill, Stroke.EDGE)]
    if area.kind is AreaKind.DOORWAY:
        shapes += _arrows(area.outline_mm, doors)
    return shapes + (_words(area, role) if labelled else [])


def size_words(outline_mm: Outline) -> str:
    """Return an outline's width and depth in metres, "1.75 × 1.00 m"."""
    x0, y0, x1, y1 = bounds_mm(outline_mm)
    return f"{(x1 - x0) / 1000:.2f} × {(y1 - y0) / 1000:.2f} m"


def _words(area: Area, role: Role) -> list[Shape]:
    """Write the name and size at the upper left and the kind at the lower left."""
    x0, y0, _, y1 = bounds_mm(area.outline_mm)
    top, low = (float(x0), float(y1)), (float(x0), float(y0))
    size, kind = size_words(area.outline_mm), area.kind.value
    start, small = Anchor.START, Size.SMALL
    return [
        Text(top, size, Role.DIMENSION, start, small, line=2.3, inset=0.7, boxed=True),
        Text(low, kind, Role.DIMENSION, start, small, line=-0.9, inset=0.7, boxed=True),
        Text(top, area.label, role, start, line=0.9, inset=0.6, strong=True, boxed=True),
    ]


def _arrows(outline_mm: Outline, doors: Sequence[Segment]) -> list[Shape]:
    x0, y0, x1, y1 = bounds_mm(outline_mm)
    middle = ((x0 + x1) / 2, y1 - (y1 - y0) * ARROWS_FROM_TOP)
    towards = _towards(middle, doors)
    across = (-towards[1], towards[0])
    span = abs(across[0]) * (x1 - x0) + abs(across[1]) * (y1 - y0)
    depth = abs(towards[0]) * (x1 - x0) + abs(towards[1]) * (y1 - y0)
    shapes: list[Shape] = []
    for at in range(ARROWS):
        aside = span * ((at + 1) / (ARROWS + 1) - 0.5)
        centre = (middle[0] + across[0] * aside, middle[1] + across[1] * aside)
        shapes += _arrow(centre, towards, depth * ARROW_SHARE)
    return shapes


def _towards(middle: Spot, doors: Sequence[Segment]) -> Spot:
    """Return which of the four directions of the plan leads to the nearest door; up without one."""
    places = [((d.start_mm[0] + d.end_mm[0]) / 2, (d.start_mm[1] + d.end_mm[1]) / 2) for d in doors]
    if not places:
        return (0.0, 1.0)
    x, y = min(places, key=lambda place: math.dist(place, middle))
    dx, dy = x - middle[0], y - middle[1]
    return (math.copysign(1, dx), 0.0) if abs(dx) > abs(dy) else (0.0, math.copysign(1, dy))


def _arrow(centre: Spot, towards: Spot, length_mm: float) -> list[Shape]:
    half, head = length_mm / 2, min(HEAD_MM, length_mm * HEAD_SHARE)
    (x, y), (tx, ty) = centre, towards
    tip = (x + tx * half, y + ty * half)
    neck = (tip[0] - tx * head, tip[1] - ty * head)
    wings = (
        (neck[0] - ty * head * 0.8, neck[1] + tx * head * 0.8),
        tip,
        (neck[0] + ty * head * 0.8, neck[1] - tx * head * 0.8),
    )
    shaft = ((x - tx * half, y - ty * half), tip)
    return [
        Polyline(shaft, Role.DOORWAY, Stroke.EDGE),
        Polyline(wings, Role.DOORWAY, Stroke.EDGE),
    ]


def found_areas(unit: Unit) -> tuple[Area, ...]:
    """Return the areas last read from a unit, in its own view; none where they can't be read.

    What is odd about them is told by the reading's complaints; a drawing leaves them out.
    """
    try:
        areas = areas_of(unit.found.sheet) if unit.found else ()
    except PlanError:
        return ()
    return tuple(area for area in areas if len(area.outline_mm) >= FEWEST_CORNERS)


def draw_found(unit: Unit, *, labelled: bool = True) -> list[Shape]:
    """Return, dotted on the plan, the areas that a unit holds and that weren't planned so."""
    shapes: list[Shape] = []
    for area in found_areas(unit):
        if not any(_same(area, planned) for planned in _planned(unit)):
            outline = on_plan(area.outline_mm, unit.line.pose)
            shapes.append(Polygon(outline, Role.FOUND, Fill.NONE, Stroke.DOTTED))
            if labelled:
                shapes.append(_found_words(area, outline))
    return shapes


def _found_words(area: Area, outline: tuple[Spot, ...]) -> Text:
    """Write below the lower left corner, where a planned area's own words never stand."""
    spot = (min(x for x, _ in outline), min(y for _, y in outline))
    words = f"{area.label}, as found"
    return Text(spot, words, Role.FOUND, Anchor.START, Size.SMALL, line=-1.0, inset=0.6, boxed=True)


def _planned(unit: Unit) -> tuple[Area, ...]:
    try:
        return areas_of(unit.planned)
    except PlanError:
        return ()


def _same(one: Area, other: Area) -> bool:
    if one.kind is not other.kind or len(one.outline_mm) != len(other.outline_mm):
        return False
    return all(
        any(
            max(abs(x - u), abs(y - v)) <= AREA_COORDINATE_TOLERANCE_MM for u, v in other.outline_mm
        )
        for x, y in one.outline_mm
    )
