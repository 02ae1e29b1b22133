"""Dimension lines with slanted ticks, in metres, and the scale bar."""

import math
from itertools import pairwise

from fleet.drawing.primitives import (
    Anchor,
    Box,
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
from fleet.numerics.outlines import bounds_mm, signed_area_mm2

OFFSET_MM = 520
"""From the inner face of a wall to its dimension line."""
TICK_MM = 70
LEAST_MM = 400
"""A shorter piece of wall has no room for its figure."""
RECTANGLE_CORNERS = 4


def metres(length_mm: float) -> str:
    """Return a length in words, metres with two decimals."""
    return f"{length_mm / 1000:.2f} m"


def draw_dimensions(outline_mm: Outline) -> list[Shape]:
    """Return the overall width above and depth at the left; for other shapes each wall as well."""
    x0, y0, x1, y1 = bounds_mm(outline_mm)
    odd = len(outline_mm) > RECTANGLE_CORNERS
    away = OFFSET_MM * (2.0 if odd else 1.0)
    shapes = dimension((x0, y1), (x1, y1), (0.0, away))
    shapes += dimension((x0, y0), (x0, y1), (-away, 0.0))
    if odd:
        shapes += _each_wall(outline_mm, said_mm={x1 - x0, y1 - y0})
    return shapes


def _each_wall(outline_mm: Outline, said_mm: set[int]) -> list[Shape]:
    """Return each wall's dimension but of those as long as the whole, which stands there already."""
    turned = outline_mm if signed_area_mm2(outline_mm) > 0 else tuple(reversed(outline_mm))
    shapes: list[Shape] = []
    for start, end in pairwise((*turned, turned[0])):
        length_mm = math.dist(start, end)
        if length_mm >= LEAST_MM and length_mm not in said_mm:
            right = ((end[1] - start[1]) / length_mm, (start[0] - end[0]) / length_mm)
            shapes += dimension(start, end, (right[0] * OFFSET_MM, right[1] * OFFSET_MM))
    return shapes


def dimension(start_mm: Spot, end_mm: Spot, away_mm: Spot) -> list[Shape]:
    """Return one dimension line.

    Args:
        start_mm: one end of what is measured.
        end_mm: its other end.
        away_mm: how far to the side the line stands, as a vector.
    """
    start = (start_mm[0] + away_mm[0], start_mm[1] + away_mm[1])
    end = (end_mm[0] + away_mm[0], end_mm[1] + away_mm[1])
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    figure = Text(
        middle,
        metres(math.dist(start, end)),
        Role.TITLE,
        size=Size.LABEL,
        turned=upright,
        boxed=True,
    )
    line = Polyline((start, end), Role.DIMENSION, Stroke.DIMENSION)
    return [line, _tick(start), _tick(end), figure]


def _tick(at: Spot) -> Polyline:
    low = (at[0] - TICK_MM, at[1] - TICK_MM)
    high = (at[0] + TICK_MM, at[1] + TICK_MM)
    return Polyline((low, high), Role.WALL, Stroke.EDGE)


def draw_scale_bar(box_mm: Box) -> list[Shape]:
    """Return a bar of metres for the lower right corner of a box: one, two or five of them."""
    span_mm = box_mm[2] - box_mm[0]
    length_m = next((m for m in (5, 2, 1) if m * 1000 <= span_mm * 0.45), 1)
    right, low = box_mm[2], box_mm[1]
    left, high = right - length_m * 1000, low + span_mm * 0.012
    half = length_m * 500
    shapes: list[Shape] = []
    for at in range(2):
        x0, x1 = left + at * half, left + (at + 1) * half
        fill = Fill.PAPER if at else Fill.SOLID
        corners = ((x0, low), (x1, low), (x1, high), (x0, high))
        shapes.append(Polygon(corners, Role.SCALE, fill, Stroke.THIN))
    for x, words in ((left, "0"), (left + half, f"{length_m / 2:g}"), (right, f"{length_m} m")):
        shapes.append(Text((x, low), words, Role.SCALE, Anchor.MIDDLE, Size.SMALL, line=0.8))
    return shapes
