"""A sheet of stickers, drawn small: a click, or the arrow keys, say which is the first that is free."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from ui.widgets.theme import colours_now, text_font

COLUMNS, ROWS = 3, 8
"""70 × 37 mm on A4, a common sheet."""
PLACES = COLUMNS * ROWS
_STEPS = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Up: -COLUMNS,
    Qt.Key.Key_Down: COLUMNS,
}
_A4 = (210, 297)


class SheetPicker(QWidget):
    """The sheet; used places are crossed out, the ones that will be printed are filled.

    Signals:
        start_changed: place of the first free label, from 1, row by row.
    """

    start_changed = Signal(int)

    def __init__(self, labels: int, parent: QWidget | None = None) -> None:
        """Show a new sheet, and how many labels go on it."""
        super().__init__(parent)
        self._labels, self._start = labels, 1
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("First free label of the sheet")
        self._say()

    def start(self) -> int:
        """Return the place of the first free label."""
        return self._start

    def choose(self, place: int) -> None:
        """Begin at a place; one that isn't on the sheet is left alone."""
        if 1 <= place <= PLACES and place != self._start:
            self._start = place
            self._say()
            self.update()
            self.start_changed.emit(place)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return a size in which a thumb finds a label."""
        return QSize(_A4[0] * 5 // 4, _A4[1] * 5 // 4)

    minimumSizeHint = sizeHint  # noqa: N815 - Qt's name

    def place_at(self, x_px: float, y_px: float) -> int:
        """Return the place under a pixel, 0 for none."""
        for place in range(1, PLACES + 1):
            if self._cell(place).contains(x_px, y_px):
                return place
        return 0

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Begin at the label that is clicked."""
        self.choose(self.place_at(event.position().x(), event.position().y()))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Move the beginning by keys."""
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self.choose(self._start + step)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002, N802 - Qt's name and signature
        """Paint the sheet."""
        colours, painter = colours_now(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(text_font(10.0))
        painter.fillRect(self.rect(), QColor(colours.paper))
        for place in range(1, PLACES + 1):
            self._paint_place(painter, place)
        edge = colours.blue if self.hasFocus() else colours.ink
        painter.setPen(QPen(QColor(edge), 2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_place(self, painter: QPainter, place: int) -> None:
        colours, cell = colours_now(), self._cell(place).adjusted(3, 3, -3, -3)
        printed = self._start <= place < self._start + self._labels
        painter.setPen(QPen(QColor(colours.blue if printed else colours.soft), 2 if printed else 1))
        painter.setBrush(QColor(colours.chosen) if printed else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(cell, 4, 4)
        if place < self._start:
            painter.drawLine(cell.topLeft(), cell.bottomRight())
            painter.drawLine(cell.bottomLeft(), cell.topRight())
        elif printed:
            painter.setPen(QColor(colours.ink))
            painter.drawText(cell, int(Qt.AlignmentFlag.AlignCenter), str(place - self._start + 1))

    def _cell(self, place: int) -> QRectF:
        row, column = divmod(place - 1, COLUMNS)
        width, height = (self.width() - 8) / COLUMNS, (self.height() - 8) / ROWS
        return QRectF(4 + column * width, 4 + row * height, width, height)

    def _say(self) -> None:
        self.setAccessibleDescription(
            f"Begins at label {self._start} of {PLACES}; {self._start - 1} are used up."
        )
