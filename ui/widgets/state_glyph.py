"""One glyph a meaning: disc shown, square to do, triangle look, diamond wrong, dash not tested."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from fleet.drawing.palette import Palette
from fleet.model.snapshot import ItemState
from ui.widgets.theme import colours_now

GLYPH_PX = 16
PEN_SHARE = 0.11


def colour_of_state(state: ItemState, colours: Palette) -> QColor:
    """Return the colour that goes with a state's shape and word."""
    match state:
        case ItemState.SHOWN:
            return QColor(colours.green)
        case ItemState.TO_DO:
            return QColor(colours.blue)
        case ItemState.LOOK:
            return QColor(colours.ochre)
        case ItemState.WRONG:
            return QColor(colours.vermilion)
        case ItemState.NOT_TESTED:
            return QColor(colours.soft)


def paint_glyph(painter: QPainter, box: QRectF, state: ItemState, colours: Palette) -> None:
    """Paint a state's glyph into a box: filled for what is settled, open for what waits."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    colour, side = colour_of_state(state, colours), min(box.width(), box.height())
    pen = QPen(colour, max(1.6, side * PEN_SHARE))
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    filled = state in {ItemState.SHOWN, ItemState.WRONG}
    painter.setBrush(colour if filled else Qt.BrushStyle.NoBrush)
    _shape(painter, box.center(), side * 0.36, state)
    painter.restore()


def _shape(painter: QPainter, at: QPointF, half: float, state: ItemState) -> None:
    x, y = at.x(), at.y()
    match state:
        case ItemState.SHOWN:
            painter.drawEllipse(at, half, half)
        case ItemState.TO_DO:
            painter.drawRect(QRectF(x - half, y - half, 2 * half, 2 * half))
        case ItemState.LOOK:
            _closed(painter, (x, y - half), (x + half, y + half * 0.8), (x - half, y + half * 0.8))
        case ItemState.WRONG:
            _closed(painter, (x, y - half), (x + half, y), (x, y + half), (x - half, y))
        case ItemState.NOT_TESTED:
            painter.drawLine(QPointF(x - half, y), QPointF(x + half, y))


def _closed(painter: QPainter, *corners: tuple[float, float]) -> None:
    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))


def glyph_icon(state: ItemState, colours: Palette | None = None, side_px: int = GLYPH_PX) -> QIcon:
    """Return a state's glyph as an icon, drawn at four times its size for fine screens."""
    pixmap = QPixmap(side_px * 4, side_px * 4)
    pixmap.setDevicePixelRatio(4.0)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    paint_glyph(painter, QRectF(0, 0, side_px, side_px), state, colours or colours_now())
    painter.end()
    return QIcon(pixmap)


class StateGlyph(QWidget):
    """A glyph that stands beside its line; its accessible name is the state's word."""

    def __init__(self, state: ItemState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.show_state(state)

    def show_state(self, state: ItemState) -> None:
        """Show another state."""
        self._state = state
        self.setAccessibleName(state.value)
        self.setToolTip(state.value)
        self.update()

    def state(self) -> ItemState:
        """Return the state shown."""
        return self._state

    def sizeHint(self) -> QSize:  # noqa: N802  (Qt's own name)
        """Return the fixed size of a glyph."""
        return QSize(GLYPH_PX, GLYPH_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002, N802  (Qt's own name and signature)
        """Paint the glyph."""
        painter = QPainter(self)
        paint_glyph(painter, QRectF(self.rect()), self._state, colours_now())
        painter.end()
