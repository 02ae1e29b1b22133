"""Adding units by address: one, or a pasted list, with what came of each line."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QWidget,
)

from fleet.model.errors import WalkdownError
from fleet.model.meeting import AddressResult
from ui.bridge.session import Session
from ui.presenters.address_rows import address_rows, asked_lines, summary_words
from ui.widgets.state_glyph import glyph_icon
from ui.windows.dialog_parts import TroubleLine, buddied, button, follow, set_out, wrapped


class AddressesDialog(QDialog):
    """A box to paste into, and a list of what came of it."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        """Ask for addresses."""
        super().__init__(parent)
        self._session = session
        self.setWindowTitle("By address")
        self.text = QPlainTextEdit()
        self.text.setAccessibleName("Addresses, one a line")
        self.text.setPlaceholderText("192.0.2.17\nhttp://192.0.2.18:8080/td\nunit-05.local")
        self.text.setTabChangesFocus(True)
        self.results = QListWidget()
        self.results.setAccessibleName("What came of each address")
        self.results.setWordWrap(True)
        self.results.hide()
        self.said, self.trouble = wrapped(""), TroubleLine()
        self.said.hide()
        self.meet = button("Meet them", "Meet the units at these addresses", default=True)
        close = button("Close")
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.meet)
        set_out(
            self,
            wrapped("Add units by address", points=16, bold=True),
            buddied("&Addresses, one a line; a list can be pasted", self.text),
            self.text,
            self.said,
            self.results,
            self.trouble,
            buttons,
            stretched=4,
        )
        self.resize(620, 420)
        self.meet.clicked.connect(self._ask)
        close.clicked.connect(self.reject)

    def _ask(self) -> None:
        text = self.text.toPlainText()
        count = len(asked_lines(text))
        if not count:
            self.trouble.say("Nobody was asked: no address stands there.")
            return
        self.trouble.say("")
        self.meet.setEnabled(False)
        self._say(f"Asking at {count} …" if count > 1 else "Asking there …")
        operation = self._session.run(lambda visit: visit.add_addresses(text))
        follow(self._session, operation, self, self._show, self._fail)

    def _show(self, results: tuple[AddressResult, ...]) -> None:
        self.meet.setEnabled(True)
        self._say(summary_words(results))
        self.results.clear()
        for row in address_rows(results):
            item = QListWidgetItem(glyph_icon(row.state), row.text, self.results)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{row.state}: {row.text}")
        self.results.setVisible(bool(results))

    def _say(self, text: str) -> None:
        self.said.setText(text)
        self.said.show()

    def _fail(self, error: WalkdownError) -> None:
        self.meet.setEnabled(True)
        self.said.hide()
        self.trouble.tell(error)
