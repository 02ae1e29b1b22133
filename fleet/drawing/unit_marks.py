"""A unit on its wall: a triangle that points where it looks, with its label."""

import math

from fleet.drawing.primitives import (
    Anchor,
    Fill,
    Polygon,
    Role,
    Shape,
    Size,
    Spot,
    Stroke,
    Text,
)
from fleet.drawing.views import MDEG_PER_DEG
from fleet.drawing.walls import WALL_MM
from fleet.model.geometry import Pose
from fleet.model.units import Unit

TRIANGLE_MM = 240
LABEL_GAP_MM = 70
SIDEWAYS_SHARE = 0.38
"""A direction that leans at least so far aside has its label beside it, not centred."""


def draw_unit(unit: Unit, *, look: bool = False, inside: bool = False) -> list[Shape]:
    """Return a unit's triangle and label.

    Args:
        unit: which.
        look: something about it needs a look; it is drawn filled and in another colour.
        inside: the label stands in the room, where behind the wall another room follows.
    """
    pose = unit.line.pose
    role = Role.UNIT_LOOK if look else Role.UNIT
    fill = Fill.SOLID if look else Fill.PAPER
    body = Polygon(triangle(pose), role, fill, Stroke.EDGE)
    return [body, *_label(unit, role, inside=inside)]


def triangle(pose: Pose) -> tuple[Spot, Spot, Spot]:
    """Return the corners: two on the wall, the third where the unit looks.

    A unit turned out of the wall, as in a corner, stands so far off that its base clears the walls.
    """
    (dx, dy), half = facing(pose), TRIANGLE_MM / 2
    off_wall_mm = half * 2 * abs(dx * dy)
    x, y = pose.x_mm + dx * off_wall_mm, pose.y_mm + dy * off_wall_mm
    tip = (x + dx * TRIANGLE_MM, y + dy * TRIANGLE_MM)
    left, right = (x - dy * half, y + dx * half), (x + dy * half, y - dx * half)
    return (left, tip, right)


def facing(pose: Pose) -> Spot:
    """Return the direction in which a unit looks, of length one."""
    turn = math.radians(pose.heading_mdeg / MDEG_PER_DEG)
    return (math.cos(turn), math.sin(turn))


def _label(unit: Unit, role: Role, *, inside: bool) -> list[Shape]:
    pose, (dx, dy) = unit.line.pose, facing(unit.line.pose)
    away = (
        TRIANGLE_MM * (1 + abs(dx * dy)) + LABEL_GAP_MM
        if inside
        else -(WALL_MM * 1.3 + LABEL_GAP_MM)
    )
    spot = (pose.x_mm + dx * away, pose.y_mm + dy * away)
    side = dx if inside else -dx
    up = dy if inside else -dy
    anchor, line = _beside(side, up)
    label = Text(spot, unit.line.label, role, anchor, line=line, strong=True, boxed=inside)
    if not pose.upside_down or inside:
        return [label]
    note = Text(spot, "upside-down", role, anchor, Size.SMALL, line=line + 1.3)
    return [label, note]


def _beside(side: float, up: float) -> tuple[Anchor, float]:
    """Return how a label is anchored so that it grows away from what it names."""
    if side > SIDEWAYS_SHARE:
        return Anchor.START, 0.0
    if side < -SIDEWAYS_SHARE:
        return Anchor.END, 0.0
    return Anchor.MIDDLE, -0.5 if up > 0 else 0.5
