"""The review table: unit, item, as left, found, planned, reason, what it disrupts; ticked line by line."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from fleet.model.journal import Change
from ui.presenters.review_rows import HEADINGS, ChangeKey, ReviewRow

# Fusion shades the chosen cell; a flat ground keeps its words readable.
_CHOSEN = "QTableView::item:selected { background: palette(highlight); color: palette(highlighted-text); }"
TICK_PX = 48
_REASON = HEADINGS.index("Reason")


class CompareTable(QTableWidget):
    """Changes with a tick before each; Space ticks, Enter decides.

    Signals:
        ticks_changed: something was ticked or unticked.
    """

    ticks_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(0, len(HEADINGS), parent)
        self.setAccessibleName("Changes to review")
        self.setHorizontalHeaderLabels(list(HEADINGS))
        self.verticalHeader().hide()
        self.setWordWrap(True)
        self.setStyleSheet(_CHOSEN)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for column in (_REASON, _REASON + 1):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Fixed)
        self.setColumnWidth(0, self.fontMetrics().horizontalAdvance("U000") + TICK_PX)
        header.sectionResized.connect(lambda *_: self.resizeRowsToContents())
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._rows: tuple[ReviewRow, ...] = ()
        self._touched: dict[ChangeKey, bool] = {}
        self.itemChanged.connect(self._note_tick)

    def show_rows(self, rows: Sequence[ReviewRow]) -> None:
        """Show these rows; what a person ticked or unticked stays so."""
        at = self.currentRow()
        self.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self._rows = tuple(rows)
        self.setRowCount(len(self._rows))
        for number, row in enumerate(self._rows):
            self._fill(number, row)
        self.resizeRowsToContents()
        if self._rows:
            self.setCurrentCell(min(max(at, 0), len(self._rows) - 1), 0)
        self.blockSignals(False)  # noqa: FBT003 - Qt's own call
        self.ticks_changed.emit()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Only now the columns have their width, and the rows their height."""
        super().showEvent(event)
        self.resizeRowsToContents()

    def ticked(self) -> tuple[Change, ...]:
        """Return the changes that are ticked."""
        return tuple(
            row.change
            for number, row in enumerate(self._rows)
            if (item := self.item(number, 0)) and item.checkState() is Qt.CheckState.Checked
        )

    def current(self) -> ReviewRow | None:
        """Return the row that is chosen."""
        number = self.currentRow()
        return self._rows[number] if 0 <= number < len(self._rows) else None

    def _fill(self, number: int, row: ReviewRow) -> None:
        for column, text in enumerate(row.cells):
            self.setItem(number, column, QTableWidgetItem(text))
        first = self.item(number, 0)
        if first is None:
            return
        selectable = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        first.setFlags(selectable if row.waits else selectable | Qt.ItemFlag.ItemIsUserCheckable)
        ticked = not row.waits and self._touched.get(row.key, row.ticked)
        first.setCheckState(Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked)
        said = "waits for a decision" if row.waits else "may be ticked"
        first.setData(Qt.ItemDataRole.AccessibleTextRole, f"{row.cells[0]} {row.cells[1]}, {said}")

    def _note_tick(self, item: QTableWidgetItem) -> None:
        if item.column() == 0:
            row = self._rows[item.row()]
            self._touched[row.key] = item.checkState() is Qt.CheckState.Checked
            self.ticks_changed.emit()
