"""The units of a campaign, wave by wave: how each stands, how far it is, and what its gate checked."""

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QListWidget,
    QListWidgetItem,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from fleet.drawing.palette import Palette
from ui.presenters.campaign_rows import UpdateRow, row_words
from ui.presenters.words import breakable
from ui.widgets.row_painting import (
    GAP_PX,
    PAD_PX,
    WRAPPED,
    left_px,
    metrics,
    needed_px,
    paint_ground,
    paint_state,
)
from ui.widgets.theme import colours_now, text_font

HEAD_POINTS, TEXT_POINTS = 12.0, 10.5
_BAR_PX, _BAR_WIDTH_PX, _LEAST_PX = 8, 200, 120
_ROLE = Qt.ItemDataRole.UserRole
_Index = QModelIndex | QPersistentModelIndex


class UpdateList(QListWidget):
    """Waves and units, one under the other; arrow keys go through them, a screen reader says each."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Units of the campaign, wave by wave")
        self.setItemDelegate(_RowPainter(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumHeight(_LEAST_PX)
        self._rows: tuple[UpdateRow, ...] = ()

    def show_rows(self, rows: Sequence[UpdateRow]) -> None:
        """Show these; where only figures moved, only those rows are painted anew."""
        shown, before = tuple(rows), self._rows
        if shown == before:
            return
        self._rows = shown
        if [row.key for row in shown] != [row.key for row in before]:
            self._fill(shown)
            return
        for number, (new, old) in enumerate(zip(shown, before, strict=True)):
            if new != old:
                _put(self.item(number), new)

    def rows(self) -> tuple[UpdateRow, ...]:
        """Return what is shown."""
        return self._rows

    def _fill(self, rows: Sequence[UpdateRow]) -> None:
        self.clear()
        for row in rows:
            item = QListWidgetItem(self)
            _put(item, row)
        if rows:
            at = next((n for n, row in enumerate(rows) if row.share is not None), 0)
            self.setCurrentRow(at)
            self.scrollToItem(self.item(at), QAbstractItemView.ScrollHint.PositionAtCenter)


class _RowPainter(QStyledItemDelegate):
    """Paints a row: glyph, name and word; a bar with the time left; a sentence."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:  # noqa: ARG002, N802 - Qt's
        """Return the height that the row needs at the list's width."""
        row: UpdateRow = index.data(_ROLE)
        view = self.parent()
        width = view.viewport().width() if isinstance(view, QAbstractItemView) else 400
        height = metrics(HEAD_POINTS, bold=True).height() + 2 * PAD_PX
        if row.share is not None:
            height += metrics(TEXT_POINTS).height()
        if row.said:
            height += needed_px(row.said, TEXT_POINTS, width - left_px() - PAD_PX)
        return QSize(0, height)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Paint one row."""
        row: UpdateRow = index.data(_ROLE)
        colours, rect = colours_now(), option.rect
        painter.save()
        if row.wave:
            painter.fillRect(rect, QColor(colours.desk))
        paint_ground(painter, option, colours)
        head = QRect(
            rect.left() + left_px(), rect.top() + PAD_PX, rect.width() - left_px() - PAD_PX,
            metrics(HEAD_POINTS, bold=True).height(),
        )  # fmt: skip
        paint_state(painter, head, rect.left(), row.state, colours)
        _paint_head(painter, row, head, colours)
        top = head.bottom() + 1
        if row.share is not None:
            top = _paint_progress(painter, row, QRect(head.left(), top, head.width(), 0), colours)
        if row.said:
            painter.setPen(QColor(colours.ink))
            painter.setFont(text_font(TEXT_POINTS))
            height = needed_px(row.said, TEXT_POINTS, head.width())
            painter.drawText(
                QRect(head.left(), top, head.width(), height), WRAPPED, breakable(row.said)
            )
        painter.restore()


def _paint_head(painter: QPainter, row: UpdateRow, box: QRect, colours: Palette) -> None:
    small = metrics(TEXT_POINTS)
    painter.setPen(QColor(colours.ink))
    painter.setFont(text_font(TEXT_POINTS))
    painter.drawText(box, _line(Qt.AlignmentFlag.AlignRight), row.word)
    name = QRect(box)
    name.setRight(box.right() - small.horizontalAdvance(row.word) - GAP_PX)
    bold = metrics(HEAD_POINTS, bold=True)
    head = bold.elidedText(row.head, Qt.TextElideMode.ElideMiddle, name.width())
    painter.setFont(text_font(HEAD_POINTS, strong=True))
    painter.drawText(name, _line(Qt.AlignmentFlag.AlignLeft), head)
    name.setLeft(name.left() + bold.horizontalAdvance(head) + GAP_PX)
    room = small.elidedText(row.room, Qt.TextElideMode.ElideRight, max(name.width(), 0))
    painter.setPen(QColor(colours.soft))
    painter.setFont(text_font(TEXT_POINTS))
    painter.drawText(name, _line(Qt.AlignmentFlag.AlignLeft), room)


def _paint_progress(painter: QPainter, row: UpdateRow, box: QRect, colours: Palette) -> int:
    """Paint the bar and its words; return where the next line begins."""
    height, share = metrics(TEXT_POINTS).height(), min(max(row.share or 0.0, 0.0), 1.0)
    width = min(_BAR_WIDTH_PX, box.width() // 2)
    bar = QRect(box.left(), box.top() + (height - _BAR_PX) // 2, width, _BAR_PX)
    painter.fillRect(
        QRect(bar.topLeft(), QSize(round(width * share), _BAR_PX)), QColor(colours.blue)
    )
    painter.setPen(QColor(colours.ink))
    painter.drawRect(bar)
    painter.setFont(text_font(TEXT_POINTS))
    words = QRect(bar.right() + GAP_PX, box.top(), box.right() - bar.right() - GAP_PX, height)
    said = " · ".join(part for part in (f"{100 * share:.0f} %", row.left) if part)
    painter.drawText(words, _line(Qt.AlignmentFlag.AlignLeft), said)
    return box.top() + height


def _put(item: QListWidgetItem, row: UpdateRow) -> None:
    item.setData(_ROLE, row)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, row_words(row))
    item.setToolTip(row_words(row))


def _line(side: Qt.AlignmentFlag) -> int:
    return int(side | Qt.AlignmentFlag.AlignVCenter)
