"""The part of a plan that doesn't move: metre grid, drawing and scale bar, as one pixmap."""

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap

from fleet.drawing.palette import Palette
from fleet.drawing.primitives import Drawing, Role
from ui.widgets.drawing_painter import Sight, paint_drawing
from ui.widgets.theme import text_font

METRE_MM = 1000
LEAST_GRID_PX = 12
BAR_PX = 170
BAR_HIGH_PX = 7
BAR_MARGIN_PX = 26
BAR_LENGTHS_M = (50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1)


def static_pixmap(
    drawing: Drawing, sight: Sight, size: QSize, ratio: float, colours: Palette
) -> QPixmap:
    """Return the static layer for a widget of a size in pixels at the screen's pixel ratio."""
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(QColor(colours.paper))
    painter = QPainter(pixmap)
    _paint_grid(painter, sight, size, colours)
    paint_drawing(painter, drawing, sight, colours, without=frozenset({Role.SCALE}))
    _paint_scale_bar(painter, sight, size, colours)
    painter.end()
    return pixmap


def _paint_grid(painter: QPainter, sight: Sight, size: QSize, colours: Palette) -> None:
    if METRE_MM * sight.px_per_mm < LEAST_GRID_PX:
        return
    line = QColor(colours.line)
    line.setAlpha(150)
    painter.setPen(QPen(line, 1.0))
    left, top = sight.left_mm, sight.top_mm
    right, low = sight.mm(QPointF(size.width(), size.height()))
    for metre in range(math.floor(left / METRE_MM), math.ceil(right / METRE_MM) + 1):
        x = round(sight.px((metre * METRE_MM, 0)).x()) + 0.5
        painter.drawLine(QPointF(x, 0), QPointF(x, size.height()))
    for metre in range(math.floor(low / METRE_MM), math.ceil(top / METRE_MM) + 1):
        y = round(sight.px((0, metre * METRE_MM)).y()) + 0.5
        painter.drawLine(QPointF(0, y), QPointF(size.width(), y))


def _paint_scale_bar(painter: QPainter, sight: Sight, size: QSize, colours: Palette) -> None:
    """Paint the bar where it stays while the plan is moved: at the lower right."""
    metre_px = METRE_MM * sight.px_per_mm
    length_m = next((m for m in BAR_LENGTHS_M if m * metre_px <= BAR_PX), BAR_LENGTHS_M[-1])
    half_px = length_m * metre_px / 2
    left = size.width() - BAR_MARGIN_PX - 2 * half_px
    top = size.height() - BAR_MARGIN_PX - BAR_HIGH_PX
    ink, paper = QColor(colours.ink), QColor(colours.paper)
    painter.fillRect(QRectF(left - 14, top - 8, 2 * half_px + 40, 40), paper)
    painter.setPen(QPen(ink, 1.0))
    for number in range(2):
        painter.setBrush(paper if number else ink)
        painter.drawRect(QRectF(left + number * half_px, top, half_px, BAR_HIGH_PX))
    painter.setFont(text_font(8.5))
    for number, words in enumerate(("0", f"{length_m / 2:g}", f"{length_m:g} m")):
        box = QRectF(left + number * half_px - 30, top + BAR_HIGH_PX, 60, 18)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)
