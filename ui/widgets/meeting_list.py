"""The list expected against found, in type that is read from a ladder."""

from collections.abc import Sequence

from PySide6.QtCore import (
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from ui.presenters.meeting_rows import MeetingRow, row_words
from ui.presenters.words import breakable
from ui.widgets.state_glyph import paint_glyph
from ui.widgets.theme import colours_now, text_font

HEAD_POINTS, ROOM_POINTS, SMALL_POINTS = 16.0, 14.0, 11.0
LEAST_HEIGHT_PX = 48
"""12 mm at 96 pixels an inch: a thumb's width."""
_GLYPH_PX, _PAD_PX, _GAP_PX, _BAR_PX = 22, 10, 12, 4
_ROLE = Qt.ItemDataRole.UserRole
_WRAPPED = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap
_Index = QModelIndex | QPersistentModelIndex


class MeetingList(QListWidget):
    """Units, one under the other.

    Signals:
        row_chosen: a MeetingRow, or None.
        row_asked: a MeetingRow; Enter or a double click.
    """

    row_chosen = Signal(object)
    row_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Expected against found")
        self.setItemDelegate(_RowPainter(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumHeight(LEAST_HEIGHT_PX * 2)
        self._rows: tuple[MeetingRow, ...] = ()
        self.currentRowChanged.connect(lambda _: self.row_chosen.emit(self.current()))
        self.itemActivated.connect(lambda _: self.row_asked.emit(self.current()))

    def show_rows(self, rows: Sequence[MeetingRow]) -> None:
        """Show these, keeping what is chosen and the place."""
        if tuple(rows) == self._rows:
            return
        before, scrolled = self.current(), self.verticalScrollBar().value()
        self.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self.clear()
        self._rows = tuple(rows)
        for row in rows:
            item = QListWidgetItem(self)
            item.setData(_ROLE, row)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, row_words(row))
            item.setToolTip(row_words(row))
        self.setCurrentRow(self._number_of(before))
        self.blockSignals(False)  # noqa: FBT003 - Qt's own call
        self.verticalScrollBar().setValue(scrolled)
        self.row_chosen.emit(self.current())

    def current(self) -> MeetingRow | None:
        """Return the row that is chosen."""
        at = self.currentRow()
        return self._rows[at] if 0 <= at < len(self._rows) else None

    def choose(self, key: str) -> None:
        """Choose a row by its key."""
        for number, row in enumerate(self._rows):
            if row.key == key:
                self.setCurrentRow(number)

    def _number_of(self, before: MeetingRow | None) -> int:
        if not self._rows:
            return -1
        keys = [row.key for row in self._rows]
        return keys.index(before.key) if before is not None and before.key in keys else 0


class _RowPainter(QStyledItemDelegate):
    """Paints a row: a large line, a smaller one, and a sentence over as many lines as it needs."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:  # noqa: ARG002, N802 - Qt's
        """Return the height that the row needs at the list's width."""
        row: MeetingRow = index.data(_ROLE)
        view = self.parent()
        width = view.viewport().width() if isinstance(view, QAbstractItemView) else 400
        height = _metrics(HEAD_POINTS, bold=True).height() + 2 * _PAD_PX
        for text in (row.below, row.said):
            if text:
                height += _needed(text, width - _left() - _PAD_PX)
        return QSize(0, max(height, LEAST_HEIGHT_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Paint one row."""
        row: MeetingRow = index.data(_ROLE)
        colours, rect, state = colours_now(), option.rect, option.state
        painter.save()
        if state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, QColor(colours.chosen))
            painter.fillRect(
                QRect(rect.topLeft(), QSize(_BAR_PX, rect.height())), QColor(colours.blue)
            )
        painter.setPen(QColor(colours.line))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        head = QRect(
            rect.left() + _left(), rect.top() + _PAD_PX, rect.width() - _left() - _PAD_PX,
            _metrics(HEAD_POINTS, bold=True).height(),
        )  # fmt: skip
        glyph = QRectF(0, 0, _GLYPH_PX, _GLYPH_PX)
        glyph.moveCenter(QPoint(rect.left() + _PAD_PX + _GLYPH_PX // 2, head.center().y() + 1))
        paint_glyph(painter, glyph, row.state, colours)
        _paint_head(painter, row, head, QColor(colours.ink))
        _paint_rest(painter, row, head, QColor(colours.soft), QColor(colours.ink))
        painter.restore()


def _paint_head(painter: QPainter, row: MeetingRow, box: QRect, ink: QColor) -> None:
    painter.setPen(ink)
    word, small = row.word, _metrics(SMALL_POINTS + 1)
    painter.setFont(text_font(SMALL_POINTS + 1))
    painter.drawText(box, _line(Qt.AlignmentFlag.AlignRight), word)
    room = box.adjusted(0, 0, -small.horizontalAdvance(word) - _GAP_PX, 0)
    name = _metrics(HEAD_POINTS, bold=True).elidedText(
        row.head, Qt.TextElideMode.ElideMiddle, room.width()
    )
    painter.setFont(_font(HEAD_POINTS, bold=True))
    painter.drawText(room, _line(Qt.AlignmentFlag.AlignLeft), name)
    room.setLeft(room.left() + _metrics(HEAD_POINTS, bold=True).horizontalAdvance(name) + _GAP_PX)
    painter.setFont(text_font(ROOM_POINTS))
    fits = _metrics(ROOM_POINTS).elidedText(row.room, Qt.TextElideMode.ElideRight, room.width())
    painter.drawText(room, _line(Qt.AlignmentFlag.AlignLeft), fits)


def _paint_rest(painter: QPainter, row: MeetingRow, head: QRect, soft: QColor, ink: QColor) -> None:
    painter.setFont(text_font(SMALL_POINTS))
    top = head.bottom() + 1
    for text, colour in ((row.below, soft), (row.said, ink)):
        if text:
            height = _needed(text, head.width())
            painter.setPen(colour)
            box = QRect(head.left(), top, head.width(), height)
            painter.drawText(box, int(_WRAPPED), breakable(text))
            top += height


def _left() -> int:
    return _PAD_PX + _GLYPH_PX + _GAP_PX


def _needed(text: str, width: int) -> int:
    box = QRect(0, 0, max(width, 1), 10_000)
    return _metrics(SMALL_POINTS).boundingRect(box, int(_WRAPPED), breakable(text)).height()


def _font(points: float, *, bold: bool = False) -> QFont:
    return text_font(points, strong=bold)


def _metrics(points: float, *, bold: bool = False) -> QFontMetrics:
    return QFontMetrics(_font(points, bold=bold))


def _line(side: Qt.AlignmentFlag) -> int:
    return int(side | Qt.AlignmentFlag.AlignVCenter)
