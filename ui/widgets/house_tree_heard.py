"""What was heard and stands in no schedule: dragged into a room, or placed by key."""

from collections.abc import Sequence

from PySide6.QtCore import QMimeData, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QListWidget, QListWidgetItem, QWidget

from ui.presenters.house_rows import HeardRow
from ui.widgets.house_tree import SERIAL_MIME

_ROLE = Qt.ItemDataRole.UserRole


class HeardList(QListWidget):
    """Units that wait for a place.

    Signals:
        place_asked: serial; Enter or a double click on a row.
    """

    place_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Heard, not placed")
        self.setDragEnabled(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragOnly)
        self.setWordWrap(True)
        self.itemActivated.connect(lambda item: self.place_asked.emit(str(item.data(_ROLE))))

    def show_rows(self, rows: Sequence[HeardRow]) -> None:
        """Show these, keeping what is chosen."""
        chosen = self.serial()
        self.clear()
        for row in rows:
            item = QListWidgetItem(row.text, self)
            item.setData(_ROLE, row.serial)
            item.setToolTip(row.note)
            if row.serial == chosen:
                self.setCurrentItem(item)
        if not self.currentIndex().isValid() and rows:
            self.setCurrentRow(0)

    def serial(self) -> str:
        """Return the serial that is chosen, "" for none."""
        at = self.currentIndex()
        return str(at.data(_ROLE)) if at.isValid() else ""

    def mimeData(self, items: Sequence[QListWidgetItem]) -> QMimeData:  # noqa: N802 - Qt's name
        """Carry the serial of the row that is dragged."""
        data = QMimeData()
        for item in items[:1]:
            data.setData(SERIAL_MIME, str(item.data(_ROLE)).encode("utf-8"))
        return data
