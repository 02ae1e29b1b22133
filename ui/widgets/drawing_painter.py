"""Painting a drawing's shapes with Qt: roles become colours, hatches lines a few pixels apart."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from fleet.drawing.palette import Palette, colour_of
from fleet.drawing.primitives import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Fill,
    Polygon,
    Polyline,
    Role,
    Size,
    Spot,
    Stroke,
    Text,
)
from ui.widgets.theme import text_font

HATCH_EVERY_PX = 7.0
HATCH_ALPHA = 120
TINT_ALPHA = 20
_POINTS = {Size.TITLE: 15.0, Size.LABEL: 10.0, Size.SMALL: 8.5}
_PENS = {
    Stroke.WALL: 2.5,
    Stroke.EDGE: 1.8,
    Stroke.THIN: 1.1,
    Stroke.DASHED: 1.1,
    Stroke.DOTTED: 1.8,
    Stroke.DIMENSION: 0.8,
}


@dataclass(frozen=True, slots=True)
class Sight:
    """How plan mm lie on the widget: pixels for a mm, and the plan place of the upper left corner."""

    px_per_mm: float
    left_mm: float
    top_mm: float

    def px(self, at: Spot) -> QPointF:
        """Return the pixel of a place on the plan."""
        x, y = at
        return QPointF((x - self.left_mm) * self.px_per_mm, (self.top_mm - y) * self.px_per_mm)

    def mm(self, at: QPointF) -> Spot:
        """Return the place on the plan under a pixel."""
        return (self.left_mm + at.x() / self.px_per_mm, self.top_mm - at.y() / self.px_per_mm)


def fitted(box_mm: Box, width_px: float, height_px: float) -> Sight:
    """Return the sight that shows a box of the plan in the middle of a widget."""
    x0, y0, x1, y1 = box_mm
    px_per_mm = max(min(width_px / (x1 - x0), height_px / (y1 - y0)), 1e-4)
    spare_x, spare_y = width_px / px_per_mm - (x1 - x0), height_px / px_per_mm - (y1 - y0)
    return Sight(px_per_mm, x0 - spare_x / 2, y1 + spare_y / 2)


def paint_drawing(
    painter: QPainter,
    drawing: Drawing,
    sight: Sight,
    colours: Palette,
    *,
    without: frozenset[Role] = frozenset(),
) -> None:
    """Paint a drawing's shapes in their order, roles in `without` left out."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for shape in drawing.shapes:
        if shape.role in without:
            continue
        match shape:
            case Polyline():
                _paint_line(painter, shape, sight, colours)
            case Polygon():
                _paint_inside(painter, _path(shape, sight), shape, colours)
            case Circle():
                path, radius = QPainterPath(), shape.radius_mm * sight.px_per_mm
                path.addEllipse(sight.px(shape.at_mm), radius, radius)
                _paint_inside(painter, path, shape, colours)
            case Text():
                paint_text(painter, shape, sight, colours)


def _paint_line(painter: QPainter, line: Polyline, sight: Sight, colours: Palette) -> None:
    painter.setPen(pen_of(line.stroke, QColor(colour_of(line.role, colours))))
    painter.drawPolyline(QPolygonF([sight.px(point) for point in line.points_mm]))


def _path(shape: Polygon, sight: Sight) -> QPainterPath:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for corners in (shape.points_mm, *shape.holes_mm):
        path.addPolygon(QPolygonF([sight.px(corner) for corner in corners]))
        path.closeSubpath()
    return path


def _paint_inside(
    painter: QPainter, path: QPainterPath, shape: Polygon | Circle, colours: Palette
) -> None:
    colour = QColor(colour_of(shape.role, colours))
    match shape.fill:
        case Fill.SOLID:
            painter.fillPath(path, colour)
        case Fill.PAPER:
            painter.fillPath(path, QColor(colours.paper))
        case Fill.VIEW | Fill.DOORWAY:
            colour.setAlpha(TINT_ALPHA)
            painter.fillPath(path, colour)
        case Fill.WATCH | Fill.IGNORE:
            paint_hatch(painter, path, colour, crossed=shape.fill is Fill.IGNORE)
        case _:
            pass
    if shape.stroke is not Stroke.NONE:
        edge = QColor(colour_of(shape.role, colours))
        painter.strokePath(path, pen_of(shape.stroke, edge))


def paint_hatch(painter: QPainter, path: QPainterPath, colour: QColor, *, crossed: bool) -> None:
    """Paint a hatch of even lines, whatever the zoom: rising, and falling too where crossed."""
    colour = QColor(colour)
    colour.setAlpha(HATCH_ALPHA)
    painter.save()
    painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
    painter.setPen(QPen(colour, 1.0))
    box = path.boundingRect()
    steps = int((box.width() + box.height()) / HATCH_EVERY_PX) + 1
    for at in range(steps):
        off, high = at * HATCH_EVERY_PX, box.height()
        x = box.left() + off
        painter.drawLine(QPointF(x, box.top()), QPointF(x - high, box.bottom()))
        if crossed:
            painter.drawLine(QPointF(x - high, box.top()), QPointF(x, box.bottom()))
    painter.restore()


def pen_of(stroke: Stroke, colour: QColor) -> QPen:
    """Return the pen of a kind of line."""
    pen = QPen(colour, _PENS.get(stroke, 1.0))
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if stroke is Stroke.DASHED:
        pen.setDashPattern([5.0, 3.0])
    if stroke is Stroke.DOTTED:
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setDashPattern([0.1, 2.4])
    return pen


def paint_text(painter: QPainter, text: Text, sight: Sight, colours: Palette) -> None:
    """Paint a line of words of a drawing."""
    font = text_font(_POINTS[text.size], strong=text.strong)
    metrics = QFontMetricsF(font, painter.device())
    width, high = metrics.horizontalAdvance(text.words), metrics.height()
    share = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
    inset = text.inset * high * 0.7 * (-1 if text.anchor is Anchor.END else 1)
    painter.save()
    painter.translate(sight.px(text.at_mm))
    if text.turned:
        painter.rotate(-90)
    box = QRectF(inset - width * share, (text.line - 0.5) * high, width, high)
    if text.boxed:
        painter.fillRect(box.adjusted(-4, 0, 4, 0), QColor(colours.paper))
    painter.setFont(font)
    painter.setPen(QColor(colour_of(text.role, colours)))
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextDontClip), text.words)
    painter.restore()
