"""What lists of painted rows share: fonts, how much height words need, a glyph in a row's head."""

from PySide6.QtCore import QPoint, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem

from fleet.drawing.palette import Palette
from fleet.model.snapshot import ItemState
from ui.presenters.words import breakable
from ui.widgets.state_glyph import paint_glyph
from ui.widgets.theme import text_font

WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap)
GLYPH_PX, PAD_PX, GAP_PX, _BAR_PX = 18, 8, 10, 4


def left_px() -> int:
    """Return where a row's words begin, from its left edge."""
    return PAD_PX + GLYPH_PX + GAP_PX


def metrics(points: float, *, bold: bool = False) -> QFontMetrics:
    """Return the measures of our font."""
    return QFontMetrics(text_font(points, strong=bold))


def needed_px(text: str, points: float, width: int) -> int:
    """Return the height that words need at a width."""
    box = QRect(0, 0, max(width, 1), 10_000)
    return metrics(points).boundingRect(box, WRAPPED, breakable(text)).height()


def paint_ground(painter: QPainter, option: QStyleOptionViewItem, colours: Palette) -> None:
    """Paint what a row stands on: a bar and another ground where it is chosen, a line below."""
    rect: QRect = option.rect
    if option.state & QStyle.StateFlag.State_Selected:
        painter.fillRect(rect, QColor(colours.chosen))
        painter.fillRect(QRect(rect.topLeft(), QSize(_BAR_PX, rect.height())), QColor(colours.blue))
    painter.setPen(QColor(colours.line))
    painter.drawLine(rect.bottomLeft(), rect.bottomRight())


def paint_state(
    painter: QPainter, head: QRect, left: int, state: ItemState, colours: Palette
) -> None:
    """Paint a glyph before a row's head, whose row begins at `left`."""
    box = QRectF(0, 0, GLYPH_PX, GLYPH_PX)
    box.moveCenter(QPoint(left + PAD_PX + GLYPH_PX // 2, head.center().y() + 1))
    paint_glyph(painter, box, state, colours)
