"""Painting live marks over a plan: laid out first, so that only what they cover is painted again."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPaintDevice, QPainter, QPen, QPolygonF

from fleet.drawing.palette import Palette
from ui.widgets.drawing_painter import Sight
from ui.widgets.live_marks import LiveMark, MarkShape
from ui.widgets.theme import text_font

DOT_PX = 7.0
RAW_PX = 3.5
LABEL_GAP_PX = 14.0
PAD_PX = 4.0
FIRST_POINTS, SECOND_POINTS = 9.5, 8.5
MOVES = 5
"""So often a label makes way for others before it lies over one."""


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A mark with its pixels: its place, path, radius of its spread, words' box and all it covers."""

    mark: LiveMark
    at: QPointF
    path: tuple[QPointF, ...]
    spread_px: float
    words: QRectF
    covers: QRectF


def laid_out(
    marks: Sequence[LiveMark], sight: Sight, size: QSizeF, surface: QPaintDevice
) -> list[PlacedMark]:
    """Return marks with their pixels; words make way for one another and stay on the widget."""
    taken: list[QRectF] = []
    placed: list[PlacedMark] = []
    for mark in marks:
        at = sight.px(mark.at_mm)
        words = _words_box(mark, at, size, taken, surface) if mark.lines else QRectF()
        if mark.lines:
            taken.append(words)
        path = tuple(sight.px(point) for point in mark.path_mm)
        spread = mark.spread_mm * sight.px_per_mm
        placed.append(PlacedMark(mark, at, path, spread, words, _covers(at, path, spread, words)))
    return placed


def _covers(at: QPointF, path: Sequence[QPointF], spread: float, words: QRectF) -> QRectF:
    reach = max(DOT_PX * 2, spread) + 3
    box = QRectF(at.x() - reach, at.y() - reach, 2 * reach, 2 * reach).united(words)
    if path:
        box = box.united(QPolygonF([*path, at]).boundingRect().adjusted(-3, -3, 3, 3))
    return box


def _words_box(
    mark: LiveMark, at: QPointF, size: QSizeF, taken: Sequence[QRectF], surface: QPaintDevice
) -> QRectF:
    fonts = (text_font(FIRST_POINTS), text_font(SECOND_POINTS))
    metrics = [QFontMetricsF(font, surface) for font in fonts]
    wide = max(m.horizontalAdvance(line) for m, line in zip(metrics, mark.lines, strict=False))
    high = sum(m.height() for m, _ in zip(metrics, mark.lines, strict=False))
    box = QRectF(at.x() + LABEL_GAP_PX, at.y() - metrics[0].height() / 2, wide + 2 * PAD_PX, high)
    if box.right() > size.width():
        box.moveRight(at.x() - LABEL_GAP_PX)
    for _ in range(MOVES):
        other = next((one for one in taken if one.intersects(box)), None)
        if other is None:
            break
        box.moveTop(other.bottom() + 2)
    return box


def paint_placed(painter: QPainter, placed: Sequence[PlacedMark], colours: Palette) -> None:
    """Paint marks, then all their words above them."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for one in placed:
        _paint_mark(painter, one, colours)
    for one in placed:
        if one.mark.lines:
            _paint_words(painter, one, colours)


def _paint_mark(painter: QPainter, one: PlacedMark, colours: Palette) -> None:
    ink = QColor(colours.vermilion if one.mark.shape is MarkShape.OUTSIDE else colours.ink)
    if one.mark.old:
        ink = QColor(colours.soft)
    if one.mark.shape is MarkShape.RANGE:
        _paint_arc(painter, one, ink)
        return
    if one.mark.shape is MarkShape.RAW:
        _paint_cross(painter, one.at, RAW_PX, QPen(QColor(colours.soft), 1.2))
        return
    _paint_trail(painter, one, ink)
    if one.spread_px > DOT_PX:
        edge = QPen(QColor(colours.soft), 0.8, Qt.PenStyle.DotLine)
        painter.setPen(edge)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(one.at, one.spread_px, one.spread_px)
    _paint_body(painter, one, ink, QColor(colours.paper))


def _paint_arc(painter: QPainter, one: PlacedMark, ink: QColor) -> None:
    style = Qt.PenStyle.DashLine if one.mark.old else Qt.PenStyle.SolidLine
    painter.setPen(QPen(ink, 1.5 if one.mark.old else 3.0, style))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF(list(one.path)))


def _paint_cross(painter: QPainter, at: QPointF, half: float, pen: QPen) -> None:
    painter.setPen(pen)
    painter.drawLine(at + QPointF(-half, 0), at + QPointF(half, 0))
    painter.drawLine(at + QPointF(0, -half), at + QPointF(0, half))


def _paint_trail(painter: QPainter, one: PlacedMark, ink: QColor) -> None:
    """Paint the way behind a body, thinner and paler the longer ago."""
    steps = list(pairwise((*one.path, one.at)))
    for number, (start, end) in enumerate(steps, start=1):
        share = number / len(steps)
        colour = QColor(ink)
        colour.setAlphaF(0.15 + 0.65 * share)
        painter.setPen(QPen(colour, 1.0 + 1.4 * share))
        painter.drawLine(start, end)


def _paint_body(painter: QPainter, one: PlacedMark, ink: QColor, paper: QColor) -> None:
    """Paint dot, square or crossed circle; old ones hollow."""
    painter.setPen(QPen(paper, 2.0))
    painter.setBrush(paper)
    painter.drawEllipse(one.at, DOT_PX + 2, DOT_PX + 2)
    painter.setPen(QPen(ink, 2.2))
    match one.mark.shape:
        case MarkShape.HELD:
            side = DOT_PX * 2
            painter.drawRect(QRectF(one.at.x() - DOT_PX, one.at.y() - DOT_PX, side, side))
        case MarkShape.OUTSIDE:
            painter.drawEllipse(one.at, DOT_PX, DOT_PX)
            reach = QPointF(DOT_PX * 1.25, DOT_PX * 1.25)
            painter.drawLine(one.at - reach, one.at + reach)
        case _:
            painter.setBrush(paper if one.mark.old else ink)
            painter.drawEllipse(one.at, DOT_PX, DOT_PX)
    if one.mark.shape is MarkShape.HELD and not one.mark.old:
        painter.setBrush(ink)
        painter.drawRect(QRectF(one.at.x() - 1.5, one.at.y() - 1.5, 3, 3))


def _paint_words(painter: QPainter, one: PlacedMark, colours: Palette) -> None:
    ground = QColor(colours.paper)
    ground.setAlpha(225)
    painter.fillRect(one.words, ground)
    outside = one.mark.shape is MarkShape.OUTSIDE and not one.mark.old
    first = colours.vermilion if outside else colours.soft if one.mark.old else colours.ink
    top = one.words.top()
    points = (FIRST_POINTS, SECOND_POINTS)
    for line, size, colour in zip(one.mark.lines, points, (first, colours.soft), strict=False):
        font = text_font(size)
        font.setItalic(one.mark.old)
        high = QFontMetricsF(font, painter.device()).height()
        painter.setFont(font)
        painter.setPen(QColor(colour))
        box = QRectF(one.words.left() + PAD_PX, top, one.words.width(), high)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), line)
        top += high
