"""Pointing a unit out on the plan: its room in a heavy outline, two rings around the unit."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from fleet.drawing.palette import Palette
from fleet.model.house import Room
from fleet.model.units import Unit
from ui.widgets.drawing_painter import Sight

RINGS_PX = (30.0, 38.0)
"""Far enough out to leave the unit's own label readable."""
_PEN_PX = 4.0
_TINT = 70
"""Of 255: what stands in the room stays readable through it."""


def paint_pointed(
    painter: QPainter, unit: Unit, rooms: Sequence[Room], sight: Sight, colours: Palette
) -> None:
    """Paint over a plan which unit is meant, and which room it is in."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(colours.blue), _PEN_PX))
    tint = QColor(colours.blue)
    tint.setAlpha(_TINT)
    painter.setBrush(tint)
    for room in rooms:
        if room.key == unit.line.room:
            painter.drawPolygon(QPolygonF([sight.px(corner) for corner in room.outline_mm]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    at = sight.px((unit.line.pose.x_mm, unit.line.pose.y_mm))
    for radius in RINGS_PX:
        painter.drawEllipse(at, radius, radius)
    painter.restore()
