"""What stands in a room and matters to sensing: beds, fans, mirrors, seats, desks, cabinets."""

import math
from collections.abc import Collection

from fleet.drawing.primitives import (
    Circle,
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
from fleet.model.geometry import Outline
from fleet.model.house import Mark, MarkKind, Room
from fleet.numerics.outlines import bounds_mm

FAN_RADIUS_MM = 520
HUB_MM = 70
SEAT_RADIUS_MM = 230
SILVER_MM = 90
SILVER_EVERY_MM = 220
PILLOW_SHARE = 0.2
LINE_POINTS = 2
LINES_ASIDE = 1.5


def draw_marks(room: Room, *, labelled: bool = True, said: Collection[str] = ()) -> list[Shape]:
    """Return the marks of a room.

    Args:
        room: whose marks.
        labelled: with their names.
        said: names that stand there already, as an area's; they aren't written twice.
    """
    shapes: list[Shape] = []
    for mark in room.marks:
        if mark.points_mm:
            shapes += _body(mark)
            if labelled and mark.label not in said:
                shapes.append(_name(mark, room.outline_mm))
    return shapes


def _body(mark: Mark) -> list[Shape]:
    if len(mark.points_mm) == 1:
        return _fan(mark.points_mm[0]) if mark.kind is MarkKind.FAN else _seat(mark.points_mm[0])
    if len(mark.points_mm) == LINE_POINTS:
        return _mirror(mark.points_mm[0], mark.points_mm[1])
    body: list[Shape] = [Polygon(mark.points_mm, Role.MARK, Fill.PAPER, Stroke.THIN)]
    return body + (_pillows(mark.points_mm) if mark.kind is MarkKind.BED else [])


def _fan(at: Spot) -> list[Shape]:
    blades: list[Shape] = []
    for turn_deg in (45, 135):
        dx = FAN_RADIUS_MM * math.cos(math.radians(turn_deg))
        dy = FAN_RADIUS_MM * math.sin(math.radians(turn_deg))
        ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
        blades.append(Polyline(ends, Role.MARK, Stroke.THIN))
    sweep = Circle(at, FAN_RADIUS_MM, Role.MARK, Fill.NONE, Stroke.DASHED)
    return [sweep, *blades, Circle(at, HUB_MM, Role.MARK, Fill.SOLID, Stroke.NONE)]


def _seat(at: Spot) -> list[Shape]:
    return [
        Circle(at, SEAT_RADIUS_MM, Role.MARK, Fill.PAPER, Stroke.THIN),
        Circle(at, SEAT_RADIUS_MM * 0.6, Role.MARK, Fill.NONE, Stroke.THIN),
    ]


def _mirror(start: Spot, end: Spot) -> list[Shape]:
    """Return a mirror as glaziers draw one: a heavy line with short slanted strokes."""
    length = math.dist(start, end)
    strokes: list[Shape] = [Polyline((start, end), Role.MARK, Stroke.EDGE)]
    for at in range(max(1, int(length // SILVER_EVERY_MM))):
        share = (at + 0.5) * SILVER_EVERY_MM / max(length, SILVER_EVERY_MM)
        x, y = start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
        slant = ((x - SILVER_MM, y - SILVER_MM), (x + SILVER_MM, y + SILVER_MM))
        strokes.append(Polyline(slant, Role.MARK, Stroke.THIN))
    return strokes


def _pillows(outline: tuple[Spot, ...]) -> list[Shape]:
    """Return the line that parts the pillows from the rest, across the bed's far end."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
    if y1 - y0 >= x1 - x0:
        y = y1 - (y1 - y0) * PILLOW_SHARE
        return [Polyline(((x0, y), (x1, y)), Role.MARK, Stroke.THIN)]
    x = x0 + (x1 - x0) * PILLOW_SHARE
    return [Polyline(((x, y0), (x, y1)), Role.MARK, Stroke.THIN)]


def _name(mark: Mark, room_mm: Outline) -> Text:
    points = mark.points_mm
    x = sum(x for x, _ in points) / len(points)
    y = sum(y for _, y in points) / len(points)
    if len(points) == LINE_POINTS:
        return _along((x, y), mark, room_mm)
    if len(points) > LINE_POINTS:
        return Text((x, y), mark.label, Role.MARK, size=Size.SMALL)
    below = FAN_RADIUS_MM if mark.kind is MarkKind.FAN else SEAT_RADIUS_MM
    return Text((x, y - below), mark.label, Role.MARK, size=Size.SMALL, line=0.9, boxed=True)


def _along(middle: Spot, mark: Mark, room_mm: Outline) -> Text:
    """Write beside a line on a wall, on the side of the room's middle."""
    (ax, ay), (bx, by) = mark.points_mm
    upright = abs(by - ay) > abs(bx - ax)
    x0, y0, x1, y1 = bounds_mm(room_mm)
    beyond = (x0 + x1) / 2 > middle[0] if upright else (y0 + y1) / 2 < middle[1]
    line = LINES_ASIDE if beyond else -LINES_ASIDE
    return Text(
        middle, mark.label, Role.MARK, size=Size.SMALL, line=line, turned=upright, boxed=True
    )
