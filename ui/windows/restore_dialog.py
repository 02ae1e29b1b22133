"""Bringing a unit back to a sheet that was kept of it: which one, what differs now, what can't be."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QListWidget, QListWidgetItem, QWidget

from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.restoring import Restoring
from fleet.model.errors import WalkdownError
from fleet.model.journal import Change
from ui.bridge.session import Session
from ui.presenters.restore_rows import SheetRow, restore_sections, sheet_rows
from ui.widgets.section_pane import SectionPane
from ui.windows.dialog_parts import TroubleLine, button, follow, set_out, wrapped

_LEAD = (
    "Choose a sheet: the unit is read, and held against it. Nothing is sent from here; what would be "
    "written is reviewed first, like everything else."
)
Review = Callable[[tuple[Change, ...], str], None]
"""Opens the review of some changes; the second says why they are made."""


class RestoreDialog(QDialog):
    """Kept sheets on the left, what bringing one back comes to on the right."""

    def __init__(
        self,
        session: Session,
        serial: str,
        label: str,
        review: Review,
        parent: QWidget | None = None,
    ) -> None:
        """Ask for the sheets of a unit.

        Args:
            session: the engine.
            serial, label: which unit.
            review: opens the review.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._serial, self._open_review = session, serial, review
        self._rows: tuple[SheetRow, ...] = ()
        self._changes: tuple[Change, ...] = ()
        self._planned = self._waits_for = ""
        self.setWindowTitle(f"Restore {label}")
        self.sheets, self.pane = QListWidget(), SectionPane("What restoring comes to")
        self.sheets.setAccessibleName("Kept sheets, the newest first")
        self.sheets.setWordWrap(True)
        self.sheets.setSpacing(3)
        self.said, self.trouble = wrapped("Asking for the kept sheets …"), TroubleLine()
        self.review = button("Review …", "Review what would be written", default=True)
        self.review.setEnabled(False)
        close = button("Close")
        columns, buttons = QHBoxLayout(), QHBoxLayout()
        columns.addWidget(self.sheets, 2)
        columns.addWidget(self.pane, 3)
        buttons.addStretch(1)
        for one in (close, self.review):
            buttons.addWidget(one)
        set_out(
            self,
            wrapped(f"Restore {label}", points=16, bold=True),
            wrapped(_LEAD),
            self.said,
            columns,
            self.trouble,
            buttons,
            stretched=3,
        )
        self.resize(900, 560)
        close.clicked.connect(self.reject)
        self.review.clicked.connect(self._ask_review)
        self.sheets.currentRowChanged.connect(self._ask_plan)
        self._ask_sheets()

    def _ask_sheets(self) -> None:
        operation = self._session.run(lambda visit: visit.kept_sheets(self._serial))
        follow(self._session, operation, self, self._show_sheets, self._fail)

    def _show_sheets(self, kept: tuple[KeptSheet, ...]) -> None:
        self._rows = sheet_rows(kept)
        self.said.setText("" if kept else "No sheet is kept of it yet: it was never read.")
        self.said.setVisible(not kept)
        for row in self._rows:
            item = QListWidgetItem(f"{row.text}\n{row.below}", self.sheets)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{row.text}: {row.below}")
        self.sheets.setCurrentRow(0 if self._rows else -1)
        self.sheets.setFocus()

    def _ask_plan(self, at: int) -> None:
        if not 0 <= at < len(self._rows):
            return
        key = self._rows[at].key
        self._waits_for = key
        self.review.setEnabled(False)
        self.trouble.say("")
        self._say("Reading the unit …")
        operation = self._session.run(lambda visit: visit.plan_restore(self._serial, key))
        follow(self._session, operation, self, lambda planned: self._show(key, planned), self._fail)

    def _show(self, key: str, planned: Restoring) -> None:
        if key != self._waits_for:  # another sheet was chosen meanwhile
            return
        self._changes, impossible = planned
        self._planned = key
        self.said.hide()
        self.pane.show_sections(restore_sections(self._changes, impossible))
        self.review.setEnabled(bool(self._changes))

    def _ask_review(self) -> None:
        row = next(row for row in self._rows if row.key == self._planned)
        changes, why = self._changes, f"restored to {row.text}, {row.key}"
        self.accept()
        self._open_review(changes, why)

    def _say(self, text: str) -> None:
        self.said.setText(text)
        self.said.show()

    def _fail(self, error: WalkdownError) -> None:
        self.said.hide()
        self.pane.show_sections(())
        self.trouble.tell(error)
