"""Where each planned value of a unit comes from, and what it stands in for."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from fleet.model.templates import OriginRow
from ui.bridge.session import Session
from ui.presenters.origin_rows import HEADINGS, origin_lines
from ui.windows.dialog_parts import TroubleLine, button, follow, set_out, wrapped

_CHOSEN = "QTableView::item:selected { background: palette(highlight); color: palette(highlighted-text); }"
_LEAD = (
    "The nearest level wins: unit, then room, then kind of room, then site. What a value stands in for "
    "would count if the nearer one were taken away."
)


class OriginsDialog(QDialog):
    """A row for each planned value."""

    def __init__(
        self, session: Session, serial: str, label: str, parent: QWidget | None = None
    ) -> None:
        """Ask where the planned values of a unit come from."""
        super().__init__(parent)
        self.setWindowTitle(f"Where from: {label}")
        self.table, self.trouble = QTableWidget(0, len(HEADINGS)), TroubleLine()
        self.table.setAccessibleName("Planned values and where they come from")
        self.table.setHorizontalHeaderLabels(list(HEADINGS))
        self.table.verticalHeader().hide()
        self.table.setStyleSheet(_CHOSEN)
        self.table.setWordWrap(True)
        self.table.setTabKeyNavigation(False)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for column in range(3):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.sectionResized.connect(lambda *_: self.table.resizeRowsToContents())
        close, buttons = button("Close", default=True), QHBoxLayout()
        close.clicked.connect(self.reject)
        buttons.addStretch(1)
        buttons.addWidget(close)
        set_out(
            self,
            wrapped(f"{label}: where the planned values come from", points=16, bold=True),
            wrapped(_LEAD),
            self.table,
            self.trouble,
            buttons,
            stretched=2,
        )
        self.resize(1100, 600)
        operation = session.run(lambda visit: visit.where_from(serial))
        follow(session, operation, self, self._show, self.trouble.tell)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Only now the columns have their width, and the rows their height."""
        super().showEvent(event)
        self.table.resizeRowsToContents()

    def _show(self, rows: tuple[OriginRow, ...]) -> None:
        lines = origin_lines(rows)
        self.table.setRowCount(len(lines))
        for number, line in enumerate(lines):
            for column, text in enumerate(line.cells):
                item = QTableWidgetItem(text)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, line.said)
                self.table.setItem(number, column, item)
        self.table.resizeRowsToContents()
        if lines:
            self.table.setCurrentCell(0, 0)
        self.table.setFocus()
