"""What a drawing is made of: shapes in plan millimetres (y up) with a role, never a colour.

Texts, line widths and hatches keep their size on the paper or the screen; only places are plan mm. A
renderer (`fleet.drawing.svg`, the window's canvas) turns roles into colours with a palette.
"""

from dataclasses import dataclass
from enum import StrEnum

Spot = tuple[float, float]
"""x, y in plan mm, not rounded."""

Box = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y in plan mm."""


class Role(StrEnum):
    """What a shape stands for; a palette gives each its colour."""

    WALL = "wall"
    DOOR = "door"
    MARK = "mark"
    VIEW = "view"
    UNIT = "unit"
    UNIT_LOOK = "unit-look"
    WATCH = "area-watch"
    IGNORE = "area-ignore"
    DOORWAY = "area-doorway"
    FOUND = "as-found"
    DIMENSION = "dimension"
    GRID = "grid"
    TITLE = "title"
    SCALE = "scale"


class Fill(StrEnum):
    """How the inside of a shape is filled; each is told from the others without colour."""

    NONE = "none"
    SOLID = "solid"
    PAPER = "paper"
    WATCH = "watch"
    IGNORE = "ignore"
    DOORWAY = "doorway"
    VIEW = "view"


class Stroke(StrEnum):
    """How a line is drawn."""

    NONE = "none"
    WALL = "wall"
    EDGE = "edge"
    THIN = "thin"
    DASHED = "dashed"
    DOTTED = "dotted"
    DIMENSION = "dimension"


class Anchor(StrEnum):
    """Which end of a text stands at its place."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Size(StrEnum):
    """How large a text is on the paper."""

    TITLE = "title"
    LABEL = "label"
    SMALL = "small"


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open line through points in mm."""

    points_mm: tuple[Spot, ...]
    role: Role
    stroke: Stroke = Stroke.THIN


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed shape, its corners in mm, with holes."""

    points_mm: tuple[Spot, ...]
    role: Role
    fill: Fill = Fill.NONE
    stroke: Stroke = Stroke.THIN
    holes_mm: tuple[tuple[Spot, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle with its centre and radius in mm."""

    at_mm: Spot
    radius_mm: float
    role: Role
    fill: Fill = Fill.NONE
    stroke: Stroke = Stroke.THIN


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place.

    Attributes:
        at_mm: where the anchor stands; vertically the middle of the first line.
        words: one line.
        role: what it belongs to.
        anchor: which end of the line stands at the place.
        size: how large.
        line: how many lines of its size below the place it stands; 0.5 and so on are allowed.
        inset: how many letters' widths it is moved inwards from its anchor.
        turned: read from below upwards.
        strong: in bold.
        boxed: on a piece of paper of its own, so that hatching doesn't run through it.
    """

    at_mm: Spot
    words: str
    role: Role
    anchor: Anchor = Anchor.MIDDLE
    size: Size = Size.LABEL
    line: float = 0.0
    inset: float = 0.0
    turned: bool = False
    strong: bool = False
    boxed: bool = False


Shape = Polyline | Polygon | Circle | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes in the order in which they are laid over one another.

    Attributes:
        title: what it shows.
        shapes: the shapes.
        box_mm: the part of the plan that it shows.
    """

    title: str
    shapes: tuple[Shape, ...]
    box_mm: Box


def grown(box_mm: Box, by_mm: float) -> Box:
    """Return a box with a margin on every side."""
    x0, y0, x1, y1 = box_mm
    return (x0 - by_mm, y0 - by_mm, x1 + by_mm, y1 + by_mm)
