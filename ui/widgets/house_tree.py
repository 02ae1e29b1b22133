"""The house tree: floors, rooms and units, each with what is shown and the age of its last report."""

from collections.abc import Mapping

from PySide6.QtCore import (
    QMimeData,
    QModelIndex,
    QPersistentModelIndex,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QBrush, QIcon, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from fleet.model.snapshot import HouseState, LiveUnit
from ui.presenters.house_rows import AgeNote, HouseRow, RowKind, age_note, house_rows
from ui.widgets.state_glyph import glyph_icon

SERIAL_MIME = "application/x-walkdown-serial"
ROW_HEIGHTS = 1.6
"""Height of a row in heights of its type."""

_ROLE = Qt.ItemDataRole.UserRole


class RoomyRows(QStyledItemDelegate):
    """Gives each row some air; Qt's own sits line on line."""

    def sizeHint(  # noqa: N802 - Qt's name
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return the row's own size, higher."""
        own = super().sizeHint(option, index)
        return QSize(
            own.width(), max(own.height(), round(option.fontMetrics.height() * ROW_HEIGHTS))
        )


class HouseTree(QTreeWidget):
    """Floors, rooms, units; a heard unit may be dropped on a room.

    Signals:
        floor_chosen, room_chosen: key; unit_chosen: serial.
        unit_dropped: serial, key of the room.
    """

    floor_chosen = Signal(str)
    room_chosen = Signal(str)
    unit_chosen = Signal(str)
    unit_dropped = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self._units: dict[str, tuple[QTreeWidgetItem, str]] = {}
        self._said: dict[str, AgeNote] = {}
        self.setAccessibleName("House: floors, rooms and units")
        self.setHeaderHidden(True)
        self.setColumnCount(2)
        self.setIndentation(16)
        self.setUniformRowHeights(True)
        self.setItemDelegate(RoomyRows(self))
        self.setAcceptDrops(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DropOnly)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.header().setStretchLastSection(False)
        self.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.header().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.currentItemChanged.connect(self._say_choice)

    def show_house(self, house: HouseState) -> None:
        """Build the rows anew, keeping what is chosen and what is folded."""
        chosen, folded = self._key_of(self.currentItem()), self._folded()
        self.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self.clear()
        self._units.clear()
        self._said.clear()
        for row in house_rows(house):
            self._add(self.invisibleRootItem(), row)
        for item in self._all():
            item.setExpanded(self._key_of(item) not in folded)
            if self._key_of(item) == chosen:
                self.setCurrentItem(item)
        self.blockSignals(False)  # noqa: FBT003 - Qt's own call

    def show_live(self, live: Mapping[str, LiveUnit]) -> None:
        """Say the age of each unit's last report; touches only rows that say something else now."""
        for serial, (item, note) in self._units.items():
            age = age_note(live.get(serial))
            if self._said.get(serial) != age:
                self._said[serial] = age
                self._say_age(item, note, age)

    def choose(self, kind: RowKind, key: str) -> None:
        """Choose a row, as if a person had."""
        for item in self._all():
            if self._key_of(item) == (kind, key):
                self.setCurrentItem(item)
                self.scrollToItem(item)

    def point_out(self, serial: str) -> None:
        """Mark a unit's row and bring it into sight, without the plan turning to it.

        A unit that stands in no row, or "", leaves no row marked.
        """
        item = self._units[serial][0] if serial in self._units else None
        self.blockSignals(True)  # noqa: FBT003 - Qt's own call
        if item is None:
            self.setCurrentIndex(QModelIndex())
        else:
            self.setCurrentItem(item)
            self.scrollToItem(item)
        self.blockSignals(False)  # noqa: FBT003 - Qt's own call

    def mimeTypes(self) -> list[str]:  # noqa: N802 - Qt's name
        """Take serials only."""
        return [SERIAL_MIME]

    def dropMimeData(  # noqa: N802 - Qt's name
        self,
        parent: QTreeWidgetItem | None,
        index: int,  # noqa: ARG002 - Qt's signature
        data: QMimeData,
        action: Qt.DropAction,  # noqa: ARG002 - Qt's signature
    ) -> bool:
        """Place a heard unit in the room that it was dropped on."""
        key = self._key_of(parent)
        if key is None or key[0] is not RowKind.ROOM or not data.hasFormat(SERIAL_MIME):
            return False
        self.unit_dropped.emit(bytes(data.data(SERIAL_MIME).data()).decode("utf-8"), key[1])
        return True

    def _add(self, parent: QTreeWidgetItem, row: HouseRow) -> None:
        item = QTreeWidgetItem(parent, [row.text, row.note])
        item.setData(0, _ROLE, (row.kind, row.key))
        item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        word = ""
        if row.state is None:
            font = item.font(0)
            font.setBold(True)
            item.setFont(0, font)
        else:
            item.setIcon(0, _steady(glyph_icon(row.state)))
            word = f", {row.state}"
        said = f"{row.text}{word}" + (f", {row.note}" if row.note else "")
        item.setToolTip(0, said)
        item.setData(0, Qt.ItemDataRole.AccessibleTextRole, said)
        if row.kind is RowKind.UNIT:
            self._units[row.key] = (item, row.note)
        for below in row.rows:
            self._add(item, below)

    def _say_age(self, item: QTreeWidgetItem, note: str, age: AgeNote) -> None:
        item.setText(1, f"{note} · {age.text}" if note else age.text)
        font = item.font(1)
        font.setItalic(age.old)
        item.setFont(1, font)
        role = QPalette.ColorRole.PlaceholderText if age.old else QPalette.ColorRole.Text
        item.setForeground(1, QBrush(self.palette().color(role)))

    def _say_choice(self, item: QTreeWidgetItem | None) -> None:
        match self._key_of(item):
            case (RowKind.FLOOR, key):
                self.floor_chosen.emit(key)
            case (RowKind.ROOM, key):
                self.room_chosen.emit(key)
            case (RowKind.UNIT, key):
                self.unit_chosen.emit(key)

    @staticmethod
    def _key_of(item: QTreeWidgetItem | None) -> tuple[RowKind, str] | None:
        if item is None or item.data(0, _ROLE) is None:
            return None
        kind, key = item.data(0, _ROLE)
        return RowKind(kind), str(key)

    def _folded(self) -> set[tuple[RowKind, str] | None]:
        return (
            {self._key_of(item) for item in self._all() if not item.isExpanded()}
            if (self.topLevelItemCount())
            else set()
        )

    def _all(self) -> list[QTreeWidgetItem]:
        found: list[QTreeWidgetItem] = []
        waiting = [self.topLevelItem(n) for n in range(self.topLevelItemCount())]
        while waiting:
            item = waiting.pop(0)
            if item is not None:
                found.append(item)
                waiting += [item.child(n) for n in range(item.childCount())]
        return found


def _steady(icon: QIcon) -> QIcon:
    """A glyph keeps its colour in the chosen row, where Qt would tint it."""
    icon.addPixmap(icon.pixmap(QSize(16, 16), 4.0), QIcon.Mode.Selected)
    return icon
